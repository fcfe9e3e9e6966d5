"""What every part of Hardstand knows: the facts of the trade, and the plumbing of a process."""
