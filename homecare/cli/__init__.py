"""The commands: a file a command, each of which returns its exit status."""
