"""`python -m checklist` is the command `checklist`."""

from checklist.cli import entry

if __name__ == "__main__":
    entry()
