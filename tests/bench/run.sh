#!/bin/sh
# Times the sweep against its NumPy twin and against a script of scalar root finding, side by side in one
# run. Not part of the tests: what it prints depends on the machine and on who else uses it.
#
#   tests/bench/run.sh [REPEATS]     5 if not given
#
# docs/speed.md says what is measured. The first run also builds the cycle tables, once.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
build=$root/build/bench
cmake -S "$root" -B "$build" -DCMAKE_BUILD_TYPE=Release -DSHEAVE_TESTS=ON > /dev/null
cmake --build "$build" --target sheave sheave_bench sheave_dump > /dev/null
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 MKL_NUM_THREADS=1
exec /usr/bin/python3 "$here/bench.py" "$build" "${1:-5}"
