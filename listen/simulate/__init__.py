"""The model bench: a simulated console, air, radio and line-in with a known truth."""
