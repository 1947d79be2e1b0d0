#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Everything that must hold before a change goes in: installs what is needed, builds
# twice (plain, and with sanitizers), runs the whole-program scripts, the unit programs
# under valgrind and under sanitizers; and beside that, because the scripts wait more
# than they reckon, looks through the source and does the distribution's own check.
# Its last line is "N passed, N failed, N skipped"; it fails when anything failed.
#
#     sh contrib/check.sh
#
# Under sanitizers go all unit programs and those scripts below that meet hostile
# input or trouble; LONG=1 has the whole suite in both builds, and takes an hour.
# Logs stay in build-check/, those of single tests in build-check/results/.
set -u
cd "$(dirname "$0")/.." || exit 99
source=$(pwd)
out=$source/build-check
jobs=$(getconf _NPROCESSORS_ONLN)
tests_at_once=$((2 * jobs)) # many of them wait more than they reckon
passed=0 failed=0 skipped=0

say()
{
    echo "== $*"
}

# bad SENTENCE [LOG]: counts as one failure.
bad()
{
    failed=$((failed + 1))
    echo "FAILED: $1"
    if [ -n "${2:-}" ]; then
        tail -n 40 "$2"
    fi
}

# The value of a variable of the makefile in FOLDER.
make_variable()
{
    printf 'show-it:\n\t@echo $(%s)\n' "$2" | make -s -C "$1" -f Makefile -f - show-it
}

# count STAGE FOLDER TESTS: adds up the .trs files of the tests; one that left
# none, or whose result is no pass and no skip, is a failure.
count()
{
    for test in $3; do
        trs=$2/${test%.sh}
        [ -f "$trs.trs" ] || trs=$2/$test
        result=$(sed -n 's/^:global-test-result: //p' "$trs.trs" 2> /dev/null)
        case $result in
        PASS | XFAIL) passed=$((passed + 1)) ;;
        SKIP)
            skipped=$((skipped + 1))
            echo "skipped: $1: $test: $(sed -n 's/^SKIP: //p' "$trs.log" | head -n 1)"
            ;;
        *) bad "$1: $test (${result:-did not run})" "$trs.log" ;;
        esac
        mv "$trs.log" "$out/results/$1-$(basename "$trs").log" 2> /dev/null
        rm -f "$trs.trs"
    done
}

# logged NAME COMMAND...: what it prints is in NAME.log, its status in NAME.status.
logged()
{
    name=$1
    shift
    "$@" > "$out/$name.log" 2>&1
    echo $? > "$out/$name.status"
}

# went_well NAME
went_well()
{
    [ "$(cat "$out/$1.status" 2> /dev/null)" = 0 ]
}

# build STAGE FLAGS...: configures and builds in a folder of its own.
build()
(
    mkdir -p "$out/$1"
    cd "$out/$1" || exit 1
    shift
    "$source/configure" "$@" && make -j "$jobs"
)

# suite STAGE TESTS: these of a built stage.
suite()
{
    say "make check: $1"
    make -C "$out/$1" -k -j "$tests_at_once" check TESTS="$2" > "$out/$1.check.log" 2>&1
    [ -n "$2" ] || bad "$1 has no tests"
    count "$1" "$out/$1" "$2"
}

# without WORDS OTHERS: those words that are not among the others.
without()
{
    for word in $1; do
        case " $(echo $2) " in
        *" $word "*) ;;
        *) printf '%s ' "$word" ;;
        esac
    done
}

# under_valgrind OPTION UNITS
under_valgrind()
{
    say "valgrind ($1):$2"
    make -C "$out/plain" -k -j "$tests_at_once" check TESTS="$2" \
        LOG_COMPILER="valgrind -q --error-exitcode=1 --leak-check=full $1 \
            --child-silent-after-fork=yes --suppressions=$source/tests/valgrind.supp" \
        >> "$out/valgrind.log" 2>&1
    count valgrind "$out/plain" "$2"
}

# The unit programs that valgrind has.  Left out are those that reckon long there, and
# have few pointers for it; LONG=1 has them as well.
for_valgrind()
{
    for unit in $(make_variable "$out/plain" UNIT_TESTS); do
        [ "$unit" != tests/courier ] || continue # which looks how soon things happen
        case ${LONG:-}$unit in
        tests/alerts_view | tests/archive_damage | tests/archive_resize) continue ;;
        tests/computed_room | tests/drying_seeds | tests/dryings | tests/earlier) continue ;;
        tests/feed_gather | tests/flow_due | tests/flow_due_when | tests/forecast) continue ;;
        tests/law | tests/loadhard | tests/moved_band | tests/outage) continue ;;
        tests/practice_watch | tests/report_rows | tests/roomsim | tests/runaway) continue ;;
        tests/salt_jars | tests/samples) continue ;;
        esac
        echo "$unit"
    done
}

# A forked child that ends is looked over for leaks too, with all that its parent held, and
# its exit status, which the test waits for, becomes valgrind's: where a test
# forks, leaks are left to the sanitizers.
memory_check()
{
    units='' forking=''
    for unit in $1; do
        if grep -qE 'fork\(\)|postroom\.h' "$unit.c"; then
            forking="$forking $unit"
        else
            units="$units $unit"
        fi
    done
    under_valgrind --errors-for-leak-kinds=definite,possible "$units"
    under_valgrind --errors-for-leak-kinds=none "$forking"
}

sanitized()
{
    all=$(make_variable "$out/sanitize" TESTS)
    if [ -z "${LONG:-}" ]; then
        chosen=
        for name in ask check cut damage descriptors disk draft gone heartbeat passing \
            replay report reread salt scan season service storm terminal watch; do
            chosen="$chosen tests/run-$name.sh"
        done
        scripts=$(make_variable "$out/sanitize" RUN_TESTS)
        # tests/fuzz has the hard configurations under sanitizers, and many more.
        all=$(without "$all" "$(without "$scripts" "$chosen") tests/loadhard")
    fi
    suite sanitize "$all"
}

# A tarball that builds, tests and uninstalls cleanly, far from this tree.  Built and
# run are those tests that show whether a file is missing: the others run here.
distribution()
{
    units="tests/flow tests/load tests/loadfaulty"
    make -C "$out/plain" -j "$jobs" distcheck TESTS="$units" check_PROGRAMS="$units" \
        DISTCHECK_CONFIGURE_FLAGS="CFLAGS=-O0"
}

# What needs nothing of the plain suite but its programs, built; behind it in line.
beside()
{
    logged analyse sh contrib/analyse.sh "$out/plain"
    # Half the optimizer guesses worse what may be cut: its warnings are no errors.
    logged sanitize.build build sanitize --enable-sanitize "$quick" CFLAGS="-g1 -O1"
    logged distcheck distribution
}

# What was done beside counts as well: of the analysis each tool.
count_beside()
{
    found=$(grep -c '^PASS: ' "$out/analyse.log" 2> /dev/null)
    passed=$((passed + ${found:-0}))
    if ! went_well analyse; then
        said=$(sed -n 's/^FAIL: //p' "$out/analyse.log")
        bad "contrib/analyse.sh: $(echo ${said:-it did not end})" "$out/analyse.log"
    fi
    if went_well distcheck; then
        passed=$((passed + 1))
    else
        bad "make distcheck" "$out/distcheck.log"
    fi
}

# What runs under valgrind runs there alone: it is the same program.
plain()
{
    units=$(for_valgrind)
    all=$(make_variable "$out/plain" TESTS)
    [ -n "${LONG:-}" ] || all=$(without "$all" "$units")
    # All programs are there before two makes work in one folder.
    logged plain.programs make -C "$out/plain" -j "$jobs" check TESTS=
    went_well plain.programs || bad "the tests do not build" "$out/plain.programs.log"
    (
        renice -n 5 "$(sh -c 'echo $PPID')" > /dev/null
        beside
    ) &
    suite plain "$all"
    memory_check "$units"
    say "contrib/analyse.sh, make distcheck"
    wait
    count_beside
}

run()
{
    sh contrib/setup.sh || {
        bad "the packages needed are not there"
        return
    }
    [ ! -d "$out" ] || chmod -R u+w "$out"
    rm -rf "$out"
    mkdir -p "$out/results"
    autoreconf -fi > "$out/autoreconf.log" 2>&1 || {
        bad "autoreconf" "$out/autoreconf.log"
        return
    }
    # Four hundred programs are linked: the quicker linker, and lines without variables.
    quick="LDFLAGS=-fuse-ld=gold"
    say "building: plain"
    logged plain.build build plain --enable-developer "$quick" CFLAGS="-g1 -O2"
    if ! went_well plain.build; then
        bad "plain does not build" "$out/plain.build.log"
        return
    fi
    plain
    if went_well sanitize.build; then
        sanitized
    else
        bad "sanitize does not build" "$out/sanitize.build.log"
    fi
}

run
echo "$passed passed, $failed failed, $skipped skipped"
[ $failed -eq 0 ]
