#!/bin/sh
# Formatting, static analysis: clang-format, clang-tidy (Debian packages of these names) and gcc's analyzer. Not part of
# the tests, since findings depend on versions, and the analyzer takes half an hour. `lint.sh format`, `tidy` or
# `analyzer`: one of them.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

which=${1:-all}
wants() {
    [ "$which" = all ] || [ "$which" = "$1" ]
}

if wants format; then
    find src include tests -name '*.[ch]' -exec clang-format --dry-run -Werror {} +
fi

if wants tidy; then
    cmake -S . -B build/lint -G Ninja -DCMAKE_BUILD_TYPE=Debug >/dev/null
    # clang does not know the one flag that gcc needs for vector code.
    sed -i 's/ -fno-thread-jumps//' build/lint/compile_commands.json
    find src -name '*.c' -exec clang-tidy --quiet -p build/lint {} \;
fi

# What gcc's analyzer finds and is none stands in analyzer.txt with the reason; anything else ends this with 1. Leaks are
# left to the address sanitizer: gcc 12 takes all that is handed on in a caller's struct for lost.
if wants analyzer; then
    found=$(mktemp)
    trap 'rm -f "$found"' EXIT
    find src -name '*.c' ! -name '*_avx*.c' | sort | while read -r file; do
        # Loops over lanes have so many paths that it sees but a few of each place.
        case $file in
        */lanes.c | *_baseline.c) few="--param analyzer-max-enodes-per-program-point=2
            --param analyzer-bb-explosion-factor=1 --param analyzer-max-recursion-depth=1" ;;
        *) few="" ;;
        esac
        # shellcheck disable=SC2086
        { LC_ALL=C timeout 900 gcc -std=c17 -O1 -fanalyzer -Wno-analyzer-malloc-leak $few -fopenmp \
            -D_POSIX_C_SOURCE=200809L -D_GNU_SOURCE -DSHEAVE_VERSION='""' -Iinclude -Isrc \
            -isystem /usr/include/coin -c "$file" -o /dev/null 2>&1 ||
            [ $? -ne 124 ] || printf ': In function whole\n[-Wanalyzer-no-end]\n'; } |
            awk -v file="$file" '/: In function / { name = $NF; gsub(/[^A-Za-z0-9_]/, "", name) }
                match($0, /\[-Wanalyzer[a-z-]*\]$/) { print file, name, substr($0, RSTART + 1, RLENGTH - 2) }'
    done | sort -u >"$found"
    sed -e '/^#/d' -e 's/: .*//' tests/analyzer.txt | sort -u | comm -13 - "$found" >"$found.new"
    cat "$found.new"
    new=$(wc -l <"$found.new")
    rm -f "$found.new"
    [ "$new" -eq 0 ]
fi
