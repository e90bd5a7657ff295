"""What each subcommand does; `checklist.cli` imports a module only when its command is called."""
