"""The commands, one thin module each: read, call, print."""
