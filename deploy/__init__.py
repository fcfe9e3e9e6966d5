"""Where everything is wired; imports the rest, and nobody imports it."""
