"""The command line: one file per command, thin over the knowledge and the services."""
