#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# How many lines of conf/, daemon/ and report/ the tests run: builds with counters in
# build-coverage/ of the current folder, runs the suite, or only the TESTs named
# (tests/judge, tests/run-disk.sh), prints a table, and the lines that nothing ran.  Ends
# with 1 when a folder has less than 90 % of its lines run or a test fails.
#
#     sh contrib/coverage.sh [TEST...]
#
# Counts of an earlier run stay when TESTs are named, so that a new test shows what it adds.
# What a process killed by a signal had run is lost: its counts are written at its end.
set -u
source=$(cd "$(dirname "$0")/.." && pwd) || exit 99
build=$PWD/build-coverage
floor=90
for tool in gcc gcov python3; do
    command -v $tool > /dev/null || {
        echo "SKIP: $tool is not there"
        exit 77
    }
done
if [ -f "$source/config.status" ]; then
    echo "SKIP: the source folder itself is configured: build in another, or make distclean"
    exit 77
fi

# Timings and recordings of an hour belong to make long, not to this.
unset LONG
mkdir -p "$build" || exit 99
cd "$build" || exit 99
{
    [ -f "$source/configure" ] || (cd "$source" && autoreconf -fi)
} > build.log 2>&1 &&
    gcc -O0 -fPIC -c -o lastcount.o "$source/tests/lastcount.c" >> build.log 2>&1 &&
    { [ -f Makefile ] || "$source/configure" CC=gcc CFLAGS="-O0 -g --coverage" \
        LDFLAGS="-Wl,--wrap=_exit" LIBS="$build/lastcount.o"; } >> build.log 2>&1 &&
    make -j "$(getconf _NPROCESSORS_ONLN)" check TESTS= >> build.log 2>&1 || {
    tail -n 40 build.log
    echo "FAILED: it does not build with counters"
    exit 1
}

[ $# -gt 0 ] || find . -name '*.gcda' -exec rm -f {} +
# Some tests become another user, whose counts go there too.
find . -name '*.gcno' | while read -r notes; do
    : >> "${notes%.gcno}.gcda"
    chmod a+rw "${notes%.gcno}.gcda"
done
if [ $# -gt 0 ]; then
    make -k check TESTS="$*" > check.log 2>&1
else
    make -k -j "$(getconf _NPROCESSORS_ONLN)" check > check.log 2>&1
fi
tests=$?
grep -E '^(FAIL|ERROR|SKIP): ' check.log
python3 "$source/tests/reference/covered.py" . "$source" $floor || exit 1
[ $tests -eq 0 ] || {
    echo "FAILED: a test, see its log in $build/tests"
    exit 1
}
