"""The version, alone in a file so that asking for it imports nothing else."""

VERSION = "0.1.0"
