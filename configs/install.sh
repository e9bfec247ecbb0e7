#!/bin/sh
# Installs the packages of packages.txt that are missing, with the argument "tests" those of the tests as well. Asks
# for nothing; works as root and with sudo.
set -eu
here=$(cd "$(dirname "$0")" && pwd)

missing=
wanted() {
    sed 's/#.*//' "$here/packages.txt" | while read -r package whose; do
        if [ -n "$package" ] && { [ -z "$whose" ] || [ "$whose" = "$1" ]; }; then
            echo "$package"
        fi
    done
}
for package in $(wanted "${1:-program}"); do
    state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$state" = installed ] || missing="$missing $package"
done
if [ -z "$missing" ]; then
    exit 0
fi

if [ "$(id -u)" -eq 0 ]; then
    as_root=
elif command -v sudo >/dev/null 2>&1; then
    as_root="sudo -n"
else
    echo "These packages are missing and this user can't install them:$missing" >&2
    echo "Run as root: apt-get install$missing" >&2
    exit 3
fi
if [ -n "$as_root" ] && ! $as_root true 2>/dev/null; then
    as_root=sudo # a password may be asked for once
fi

echo "Installing:$missing" >&2
log=$(mktemp)
trap 'rm -f "$log"' EXIT
install_all() {
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get update -q >"$log" 2>&1 &&
        # shellcheck disable=SC2086
        $as_root env DEBIAN_FRONTEND=noninteractive \
            apt-get install -q -y --no-install-recommends $missing >>"$log" 2>&1
}
if ! install_all </dev/null; then
    cat "$log" >&2
    echo "Could not install:$missing" >&2
    exit 3
fi
