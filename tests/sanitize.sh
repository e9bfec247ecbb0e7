#!/bin/sh
# Runs the compiled tests under the address, undefined-behaviour and thread sanitizers. Takes a few minutes.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

./configs/install.sh tests
cmake -S . -B build/asan -G Ninja -DCMAKE_BUILD_TYPE=Asan >/dev/null
cmake --build build/asan
ctest --test-dir build/asan --output-on-failure -E '^oracle/' -j "$(nproc)"

cmake -S . -B build/tsan -G Ninja -DCMAKE_BUILD_TYPE=Tsan >/dev/null
cmake --build build/tsan
TSAN_OPTIONS="suppressions=$root/tests/tsan.supp" \
    ctest --test-dir build/tsan --output-on-failure -R '^(rank|sweep|search|certainty|plan|fit)/'
