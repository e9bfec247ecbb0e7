#!/usr/bin/env python3
"""same_file.py FILE PROGRAM [ARGUMENT]...: fails unless the program prints FILE, byte for byte."""
import difflib
import subprocess
import sys


def main():
    path, *command = sys.argv[1:]
    made = subprocess.run(command, stdout=subprocess.PIPE, check=True).stdout
    with open(path, "rb") as file:
        committed = file.read()
    if made == committed:
        return 0
    for line in difflib.unified_diff(committed.decode().splitlines(), made.decode().splitlines(),
                                     "committed", "made now", lineterm=""):
        print(line)
    print(f"{path} is not what the code's tables say: build the target docs and commit what it changes")
    return 1


if __name__ == "__main__":
    sys.exit(main())
