#!/bin/sh
# Installs what is missing, builds a release and runs the demo study.
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

./configs/install.sh
log=$(mktemp)
trap 'rm -f "$log"' EXIT
build() {
    cmake -S . -B build -G Ninja -DCMAKE_BUILD_TYPE=Release -DSHEAVE_TESTS=OFF &&
        cmake --build build
}
echo "Building build/sheave ..." >&2
if ! build >"$log" 2>&1; then
    cat "$log" >&2
    echo "The build failed." >&2
    exit 3
fi
./build/sheave run configs/hillclimb.cfg
echo "README.md says what each file holds."
