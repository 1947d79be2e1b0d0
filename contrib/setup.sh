#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Installs the Debian packages that Warmside is built, run and tested with.
#
#     sh contrib/setup.sh [--build-only]
#
# --build-only leaves out what only the tests use.  Does nothing when all are
# there; needs root or sudo when not.
set -eu

build="gcc libc6-dev make autoconf automake pkg-config
    libserialport-dev librrd-dev libcurl4-openssl-dev libconfuse-dev libjansson-dev
    libev-dev libssl-dev libcairo2-dev libgsl-dev libsystemd-dev fonts-dejavu-core ca-certificates"
tests="libcmocka-dev libmodbus-dev clang clang-tidy cppcheck libclang-rt-14-dev socat curl python3 valgrind
    universal-ctags chromium shellcheck mandoc man-db rrdtool systemd xz-utils"

case ${1:-} in
"") wanted="$build $tests" ;;
--build-only) wanted=$build ;;
*)
    echo "usage: sh contrib/setup.sh [--build-only]" >&2
    exit 2
    ;;
esac

installed()
{
    [ "$(dpkg-query -W -f '${db:Status-Status}' "$1" 2> /dev/null)" = installed ]
}

if ! command -v dpkg-query > /dev/null; then
    echo "setup: this is no Debian; what is needed goes by these names there:" $wanted >&2
    exit 1
fi

missing=
for package in $wanted; do
    installed "$package" || missing="$missing $package"
done
if [ -z "$missing" ]; then
    echo "setup: every package is there"
    exit 0
fi

root=
if [ "$(id -u)" -ne 0 ]; then
    if ! command -v sudo > /dev/null; then
        echo "setup: neither root nor sudo; please have these installed:$missing" >&2
        exit 1
    fi
    root="sudo"
fi
echo "setup: installing$missing"
$root env DEBIAN_FRONTEND=noninteractive apt-get -qq update
# shellcheck disable=SC2086
$root env DEBIAN_FRONTEND=noninteractive apt-get -qq -y install --no-install-recommends $missing
