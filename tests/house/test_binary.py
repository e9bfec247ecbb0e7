#!/usr/bin/env python3
"""The program is hardened: placed anywhere, all addresses bound and made read-only at the start, no stack that runs, returns
and copies checked.

    test_binary.py PROGRAM
"""
import subprocess
import sys


def readelf(option, program):
    return subprocess.run(["readelf", "-W", option, program], capture_output=True, text=True, check=True).stdout


def check(program):
    """What is wrong, a line each."""
    header, segments, dynamic = (readelf(option, program) for option in ("-h", "-l", "-d"))
    stack = [line.split() for line in segments.splitlines() if "GNU_STACK" in line]
    functions = readelf("--dyn-syms", program)
    found = []
    if "__stack_chk_fail@" not in functions:
        found.append("returns are not checked (-fstack-protector-strong)")
    if "printf_chk@" not in functions or "memcpy_chk@" not in functions:
        found.append("copies are not checked (-D_FORTIFY_SOURCE)")
    if "DYN (" not in header or "Flags: " not in dynamic or "PIE" not in dynamic:
        found.append("not placed anywhere (-pie)")
    if "GNU_RELRO" not in segments:
        found.append("addresses are not made read-only (-z relro)")
    if "BIND_NOW" not in dynamic:
        found.append("addresses are bound when first used (-z now)")
    if not stack or "E" in stack[0][6]:
        found.append("the stack runs (-z noexecstack)")
    return found


def main():
    found = check(sys.argv[1])
    print("\n".join(found) if found else "hardened")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
