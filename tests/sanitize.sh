#!/bin/sh
# Builds and runs the tests under the address and undefined-behaviour sanitizers, and those of everything with threads
# under the thread sanitizer. Takes an hour on two processors. `sanitize.sh address` or `thread`: one of them.
#
# Threads need the Debian packages clang and libomp-dev: their OpenMP tells the thread sanitizer what a parallel region
# orders (libarcher), so nothing of sheave is suppressed. What libraries without instruments do among themselves is
# not looked at.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"
which=${1:-all}
./configs/install.sh tests

if [ "$which" != thread ]; then
    cmake -S . -B build/asan -G Ninja -DCMAKE_BUILD_TYPE=Asan -DSHEAVE_WERROR=ON >/dev/null
    cmake --build build/asan
    ctest --test-dir build/asan --output-on-failure -E '^oracle/' -j "$(nproc)"
fi

if [ "$which" != address ]; then
    archer=$(find "$(clang -print-resource-dir)/../.." -name 'libarcher.so' | head -n 1)
    if [ -z "$archer" ]; then
        echo "libarcher.so is not there; install libomp-dev" >&2
        exit 3
    fi
    cmake -S . -B build/tsan -G Ninja -DCMAKE_C_COMPILER=clang -DCMAKE_BUILD_TYPE=Tsan -DSHEAVE_WERROR=ON >/dev/null
    targets=
    for room in sweep search certainty plan fit; do
        for test in tests/$room/test_*.c; do
            targets="$targets test_${room}_$(basename "${test#*/test_}" .c)"
        done
    done
    # shellcheck disable=SC2086
    cmake --build build/tsan --target sheave $targets
    OMP_TOOL_LIBRARIES="$archer" OMP_NUM_THREADS=4 TSAN_OPTIONS="halt_on_error=1 ignore_noninstrumented_modules=1" \
        ctest --test-dir build/tsan --output-on-failure -R '^(sweep|search|certainty|plan|fit)/'
fi
