"""What a sump is said to hold against its box."""

import pytest
from turbocharged import BOX, plan_of

from lines.finding import Verdict
from solver.checks import contents
from solver.study import study


@pytest.mark.parametrize(("times", "verdict"), [(1.0, "pass"), (1.14, "pass"), (1.2, "caution"), (0.8, "caution")])
def test_a_volume_is_held_against_the_box_up_to_the_full_mark(tmp_path, times, verdict):
    from solver.liquid import liquid_in

    plain = plan_of(tmp_path)
    held = liquid_in(plain.components["sump"], "full").volume
    assert contents.volume(study(plain)) == []
    (found,) = contents.volume(study(plan_of(tmp_path, sump=BOX | {"volume": f"{1e3 * held * times:.6f} L"})))
    assert found.verdict is Verdict(verdict)
    assert found.value.value == pytest.approx(times - 1, abs=1e-6)
    assert ("the box that counts" in found.why.say("metric")) is (verdict == "caution")
