"""The benchmark: each row beside its yardstick, both measured in the same run."""
