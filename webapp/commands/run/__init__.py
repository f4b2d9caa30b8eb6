"""What the commands do: one module for each of ``webapp/commands/``, imported when a command is called."""
