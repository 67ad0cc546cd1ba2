"""The command: reads its arguments, calls one function, sets the exit code."""

from __future__ import annotations

import argparse
import os
import sys
import traceback
from contextlib import contextmanager
from functools import partial
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from catalogs.errors import Fault, InputError, LinewrightError, NoAnswerError, nearest

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from lines.finding import Finding
    from lines.plan import Plan
    from reports.worked import Calculations
    from solver.solution import Solution, Unsolved
    from solver.study import Study

OK, FAILS, UNREADABLE, BROKEN = 0, 1, 2, 3

DEMO, STARTER = "long-travel", "fuel-return"


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command.

    Returns:
        0 nothing fails or written; 1 a finding fails; 2 no plan or no answer; 3 a fault in the tool itself.
    """
    arguments = _parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except LinewrightError as error:
        return _refused(_faults(error, arguments), arguments)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except Exception:  # noqa: BLE001 - the last word: a fault of ours is told as such, whatever it is
        sys.stderr.write(
            "linewright itself has failed; your files are as they were. Please send the plan, its shop folder "
            "and these lines:\n" + traceback.format_exc()
        )
        return BROKEN


def _faults(error: LinewrightError, arguments: argparse.Namespace) -> tuple[Fault, ...]:
    if isinstance(error, InputError):
        return error.faults
    if isinstance(error, NoAnswerError):
        return (Fault(file=str(arguments.plan), message=error.reason, expected=error.needs),)
    return (Fault(file=str(getattr(arguments, "output", getattr(arguments, "folder", ""))), message=str(error)),)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="linewright", description="From a measured vehicle to a bench sheet.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND", parser_class=_Parser)

    def add(name: str, run: Callable[[argparse.Namespace], int], says: str) -> argparse.ArgumentParser:
        command = commands.add_parser(name, help=says, description=says)
        command.set_defaults(run=run)
        return command

    new = add("new", _new, "a started plan and a blank measuring sheet")
    new.add_argument("folder", type=Path, metavar="DIR")
    check = add("check", _check, "all findings")
    solve = add("solve", _solve, "flows, pressures and velocities")
    sheets = add("sheets", _sheets, "cut-and-crimp sheets, order list, test record: PDF and CSV")
    demo = add("demo", _demo, "all of it on the example vehicle")
    for command in (check, solve, sheets):
        command.add_argument("plan", type=Path, metavar="PLAN")
    for command in (check, solve):
        command.add_argument("--json", action="store_true", help="one JSON document on standard output")
    solve.add_argument("--circuit", metavar="C", help="only this circuit")
    solve.add_argument("--duty", metavar="D", help="only this duty")
    solve.add_argument("--filters", choices=["clean", "due"], default="clean", help="how loaded the filters are")
    sheets.add_argument("-o", dest="output", type=Path, metavar="DIR", required=True, help="folder to write to")
    sheets.add_argument(
        "--worked",
        action="append",
        metavar="RUN",
        help="work out the loss of this run by hand; may be repeated, or all",
    )
    sheets.add_argument("--duty", metavar="D", help="… at this duty and not where it loses the most")
    demo.add_argument("-o", dest="output", type=Path, metavar="DIR", default=Path("linewright-out"))
    for command in (sheets, demo):
        command.add_argument("--paper", choices=["letter", "a4"], help="default: by the plan's units")
    return parser


class _Parser(argparse.ArgumentParser):
    """Says what word was nearest."""

    def error(self, message: str) -> None:  # type: ignore[override]
        for action in self._actions:
            for word in sys.argv[1:2]:
                if action.choices and word not in action.choices and (near := nearest(word, map(str, action.choices))):
                    message = f'there is no command "{word}"; did you mean "{near}"?'
        super().error(message)


def _refused(faults: tuple[Fault, ...], arguments: argparse.Namespace) -> int:
    from reports.terminal import console, print_faults

    if getattr(arguments, "json", False):
        from reports.jsonout import dump, error_document

        sys.stdout.write(dump(error_document(faults)) + "\n")
    else:
        print_faults(faults, console(sys.stderr))
    return UNREADABLE


@contextmanager
def _working(what: str) -> Iterator[Callable[[str], None]]:
    """Shows that something goes on, on a terminal only."""
    from rich.console import Console

    shown = Console(stderr=True)
    with shown.status(what) as status:
        yield status.update


def _study(path: Path) -> tuple[Study, list[Finding]]:
    with _working("reading the plan") as say:
        from lines.reading import read_plan
        from solver.checks import findings
        from solver.study import study

        plan = read_plan(path)
        say("solving")
        made = study(plan)
        say("checking")
        return made, findings(made)


def _check(arguments: argparse.Namespace) -> int:
    study, found = _study(arguments.plan)
    if arguments.json:
        from reports.jsonout import check_document, dump

        sys.stdout.write(dump(check_document(study.plan, found)) + "\n")
    else:
        from reports.terminal import console, print_findings

        print_findings(study.plan, found, console())
    return FAILS if any(f.verdict.value == "fail" for f in found) else OK


def _solve(arguments: argparse.Namespace) -> int:
    with _working("solving"):
        from lines.reading import read_plan
        from solver.solution import solve_plan

        plan = read_plan(arguments.plan)
        duties = [_chosen(arguments.duty, list(plan.duties), "duty", plan)] if arguments.duty else list(plan.duties)
        solved = solve_plan(plan, loaded=arguments.filters == "due")
        unbuilt = {} if arguments.circuit else _unbuilt(solved)
        wanted = {name: answer for name, answer in solved.items() if name not in unbuilt} or solved
        answers, faults = _answers(plan, arguments.circuit, duties, wanted)
    if arguments.json and faults:
        return _refused(tuple(faults), arguments)
    if arguments.json:
        from reports.jsonout import dump, solve_document

        sys.stdout.write(dump(solve_document(plan, answers, duties, unbuilt)) + "\n")
        return OK
    from reports.terminal import console, print_solution

    out = console()
    for answer in answers.values():
        if solved_duties := [duty for duty in duties if duty not in answer.reasons]:
            print_solution(plan, answer, solved_duties, out)
    for name, why in unbuilt.items():
        sys.stderr.write(f"{name}: no flows: {why}\n")
    return _refused(tuple(faults), arguments) if faults else OK


def _unbuilt(solved: Mapping[str, Solution | Unsolved]) -> dict[str, str]:
    """The circuits whose physics this version does not have, and why: no fault of the plan's."""
    from catalogs.errors import UnsolvedKindError
    from solver.solution import Unsolved

    return {
        name: answer.error.reason
        for name, answer in solved.items()
        if isinstance(answer, Unsolved) and isinstance(answer.error, UnsolvedKindError)
    }


def _answers(
    plan: Plan, circuit: str | None, duties: list[str], solved: Mapping[str, Solution | Unsolved]
) -> tuple[dict[str, Solution], list[Fault]]:
    """The solutions asked for, and a fault for each that there is not."""
    from solver.solution import Solution, Unsolved

    names = [_chosen(circuit, list(plan.circuits), "circuit", plan)] if circuit else list(solved)
    answers: dict[str, Solution] = {}
    faults: list[Fault] = []
    for name in names:
        answer = solved.get(name)
        place = partial(Fault, file=plan.file, table=f"circuits.{name}")
        if isinstance(answer, Solution):
            faults += [
                place(message=f"no answer at {duty}: {why}") for duty, why in answer.reasons.items() if duty in duties
            ]
            answers[name] = answer
        elif isinstance(answer, Unsolved):
            faults.append(place(message=f"no answer: {answer.error.reason}", expected=answer.error.needs))
        else:
            why = "a drain: gravity moves it, and check judges its fall" if name in _used(plan) else "it has no runs"
            faults.append(place(message=f"no pressures to solve for: {why}"))
    return answers, faults


def _used(plan: Plan) -> set[str]:
    return {run.circuit for run in plan.runs.values()}


def _chosen(word: str, valid: list[str], what: str, plan: Plan) -> str:
    if word not in valid:
        expect = "one of " + ", ".join(valid)
        fault = Fault(
            file=plan.file, message=f'"{word}" is no {what} of it', expected=expect, nearest=nearest(word, valid)
        )
        raise InputError([fault])
    return word


def _sheets(arguments: argparse.Namespace) -> int:
    study, found = _study(arguments.plan)
    _write(study, found, arguments, _by_hand(study, arguments.worked, arguments.duty))
    return OK


def _by_hand(study: Study, runs: list[str] | None, duty: str | None) -> Calculations:
    """The worked calculations asked for."""
    from reports.worked import A_DRAIN, calculations

    plan = study.plan
    if duty is not None:
        _chosen(duty, list(plan.duties), "duty", plan)
    if runs is None or "all" in runs:
        return calculations(study, None if runs is None else list(plan.runs), duty)
    drains = [run for run in runs if study.solution_of(_chosen(run, list(plan.runs), "run", plan)) is None]
    if drains:
        moved = [run for run in plan.runs if study.solution_of(run) is not None]
        expect = f"all, or a run moved by pressure: {', '.join(moved)}" if moved else ""
        why = f"no worked calculation of {A_DRAIN}"
        raise InputError([Fault(file=plan.file, table=f"runs.{run}", message=why, expected=expect) for run in drains])
    return calculations(study, runs, duty)


def _write(
    study: Study, found: list[Finding], arguments: argparse.Namespace, worked: Calculations | None = None
) -> None:
    with _working("drawing the sheets") as say:
        from reports.sheets import write_sheets

        paths = write_sheets(study, found, arguments.output, paper=arguments.paper, worked=worked, progress=say)
    sys.stdout.writelines(f"{path}\n" for path in paths)


def _demo(arguments: argparse.Namespace) -> int:
    with resources.as_file(_examples() / DEMO) as folder:
        study, found = _study(Path(folder) / "plan.toml")
        from reports.terminal import console, print_findings

        out = console()
        print_findings(study.plan, found, out)
        out.print(f"\nThis is an example; its vehicle is invented. Its sheets and tables, in {arguments.output}:")
        _write(study, found, arguments)
    out.print("To start your own: linewright new DIR")
    return OK


def _new(arguments: argparse.Namespace) -> int:
    from reports.starting import start

    with resources.as_file(_examples() / STARTER) as folder:
        paths = start(Path(folder), arguments.folder)
    sys.stdout.writelines(f"{path}\n" for path in paths)
    return OK


def _examples() -> resources.abc.Traversable:
    return resources.files("lines").joinpath("examples")
