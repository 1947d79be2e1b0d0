#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Builds the Debian package from this tree, and looks it over with lintian.
#
#     sh contrib/package.sh [FOLDER]
#
# What is distributed (make dist) is unpacked, contrib/debian becomes debian/, and
# dpkg-buildpackage makes the source and the binary package.  Both, and what lintian
# says, are put into FOLDER (default: package/).  Fails when lintian has an error or a
# warning.  Needs debhelper, dpkg-dev and lintian besides what contrib/setup.sh installs.
set -eu
cd "$(dirname "$0")/.."
source=$(pwd)
mkdir -p "${1:-package}"
out=$(cd "${1:-package}" && pwd)
work=$(mktemp -d "${TMPDIR:-/tmp}/warmside-package.XXXXXX")
trap 'rm -rf "$work"' EXIT

fail()
{
    echo "package: $*" >&2
    exit 1
}

for tool in dpkg-buildpackage dh lintian; do
    command -v "$tool" > /dev/null ||
        fail "$tool is missing; apt install dpkg-dev debhelper lintian"
done

[ -f configure ] || autoreconf -fi > "$out/autoreconf.log" 2>&1 || fail "autoreconf: see $out"
mkdir "$work/dist"
cd "$work/dist"
"$source/configure" > "$out/dist.log" 2>&1 || fail "configure: see $out/dist.log"
make dist >> "$out/dist.log" 2>&1 || fail "make dist: see $out/dist.log"

tarball=$(echo warmside-*.tar.xz)
version=${tarball#warmside-}
version=${version%.tar.xz}
tar -C "$work" -xf "$tarball"
cd "$work/warmside-$version"
cp -R contrib/debian debian
[ "$(dpkg-parsechangelog -S Version)" = "$version" ] ||
    fail "contrib/debian/changelog is not of version $version, which configure.ac has"

dpkg-buildpackage -us -uc > "$out/build.log" 2>&1 || {
    tail -n 30 "$out/build.log" >&2
    fail "dpkg-buildpackage: see $out/build.log"
}
find "$work" -maxdepth 1 -type f -exec mv {} "$out" \;
cd "$out"
lintian --allow-root --fail-on error,warning "warmside_${version}_$(dpkg --print-architecture).changes" \
    > lintian.log 2>&1 || {
    cat lintian.log >&2
    fail "lintian has something to say"
}
cat lintian.log
echo "package: $(ls -d "$out"/warmside_*.deb), no error and no warning of lintian's"
