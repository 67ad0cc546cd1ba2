"""Oil that gravity alone brings back from a turbocharger: its way, its flow, its surface in every attitude."""
