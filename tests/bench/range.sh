#!/bin/sh
# Times the range plan on synthetic ranges: not part of the tests.
#
#   tests/bench/range.sh [GROUPS [CANDIDATES [SECONDS]]]     50, 5000 and no limit of time if not given
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
build=$root/build/bench
cmake -S "$root" -B "$build" -DCMAKE_BUILD_TYPE=Release -DSHEAVE_TESTS=ON > /dev/null
cmake --build "$build" --target sheave_range_bench > /dev/null
exec "$build/tests/oracle/sheave_range_bench" "$@"
