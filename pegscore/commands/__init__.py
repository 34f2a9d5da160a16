"""What each command does, one module a command with one function ``run``.

``pegscore.cli`` loads only the module of the command that was given.
"""
