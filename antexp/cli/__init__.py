"""The `antexp` command: one module a subcommand, thin."""
