#!/bin/sh
# Formatting, static analysis. Needs clang-format and clang-tidy (Debian packages of these names); not part of
# the tests, since its findings depend on their version.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

find src include tests -name '*.[ch]' -exec clang-format --dry-run -Werror {} +
cmake -S . -B build/lint -G Ninja -DCMAKE_BUILD_TYPE=Debug >/dev/null
# clang does not know the one flag that gcc needs for vector code.
sed -i 's/ -fno-thread-jumps//' build/lint/compile_commands.json
find src -name '*.c' -exec clang-tidy --quiet -p build/lint {} \;
