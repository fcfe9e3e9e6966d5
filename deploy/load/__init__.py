"""Many clients at once against the whole stack: nothing lost, memory flat, told to come later."""
