"""What is said: the shapes of events, findings, verdicts, records and alerts."""
