#!/bin/sh
# Installs what is missing, builds everything with warnings as errors and runs every test. Ends non-zero on
# any failure. Further arguments go to ctest, e.g. tests/run.sh -R published
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

./configs/install.sh tests
cmake -S . -B build/tests -G Ninja -DCMAKE_BUILD_TYPE=Release -DSHEAVE_TESTS=ON -DSHEAVE_WERROR=ON
cmake --build build/tests
cd build/tests
# Threads that wait must not take a core from another test.
export OMP_WAIT_POLICY=passive
# One more than there are cores: the browser's and the cluster's test mostly wait.
ctest --output-on-failure --no-tests=error -j "$(($(nproc) + 1))" "$@"
