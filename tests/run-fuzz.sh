#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Fuzzing: everything that reads what others wrote (tests/fuzz/fuzz_*.c, one target a
# file) is given thousands of inputs made from its seeds (tests/fuzz/seeds/) by
# libFuzzer, under clang's sanitizers: 5 s each, with LONG=1 10 minutes each.  An input that breaks
# something is kept in the build folder, and told with the command that repeats it; mended, it goes
# into the seeds.  After LONG what is new is kept there as well.
#
#     sh tests/run-fuzz.sh [TARGET...]
. "${top_srcdir:-.}/tests/lib.sh"
! grep -q __asan_init "$daemon" || skip "the targets have sanitizers of their own"
need clang ar
cd "$top_builddir" || exit 99
out=tests/fuzz.out
seconds=5
[ -z "${LONG:-}" ] || seconds=600

# An input made of bytes of others must not take long, but this machine may be busy.
options="-seed=1 -max_len=8192 -timeout=30 -verbosity=1 -print_final_stats=1"
ASAN_OPTIONS=quarantine_size_mb=16:malloc_context_size=10
export ASAN_OPTIONS

build()
{
    echo 'int LLVMFuzzerTestOneInput(void); int LLVMFuzzerTestOneInput(void) { return 0; }' |
        clang -fsanitize=fuzzer,address,undefined -x c -o "$work/trial" - 2> "$work/trial.err" ||
        skip "clang has no fuzzer beside it (Debian: libclang-rt-14-dev)"
    MAKEFLAGS='' make -s -j 2 -f Makefile -f "$top_srcdir/tests/fuzz/fuzz.mk" fuzz-build \
        > "$work/build.out" 2>&1 || fail "the targets do not build"
}

# The target's seeds, all in one new folder.
plant()
{
    mkdir -p "$work/$1" "$out/found"
    for seed in "$top_srcdir/tests/fuzz/seeds/$1"/*; do
        cp "$seed" "$work/$1/"
    done
    [ "$1" != conf ] || cp "$top_srcdir"/tests/faulty/*.conf "$work/$1/"
    chmod -R u+w "$work/$1"
    ls "$work/$1" > "$work/$1.planted"
}

# run TARGET: its last words are in $work/TARGET.said.
run()
{
    plant "$1"
    case $1 in
    conf) words="-dict=$top_srcdir/tests/fuzz/conf.dict" ;;
    logs | papers | standing) words="-dict=$top_srcdir/tests/fuzz/json.dict" ;;
    *) words= ;;
    esac
    # shellcheck disable=SC2086 # they are several
    {
        TMPDIR=$work "$out/fuzz_$1" "$work/$1" $options $words -max_total_time=$seconds \
            -artifact_prefix="$out/found/$1-" 2>&1
        echo $? > "$work/$1.status"
    } | tail -n 120 > "$work/$1.said"
    [ -z "${LONG:-}" ] || keep_new "$1"
}

# What reached anything the seeds do not reach, as few inputs as will do.
keep_new()
{
    mkdir -p "$out/new/$1"
    TMPDIR=$work "$out/fuzz_$1" -merge=1 "$out/new/$1" "$top_srcdir/tests/fuzz/seeds/$1" \
        "$work/$1" > "$work/$1.merge" 2>&1
    echo "$1: $(ls "$out/new/$1" | wc -l) inputs that reach more than the seeds are in $out/new/$1"
}

tell()
{
    grep -a 'cov: ' "$work/$1.said" | tail -n 1 | sed "s/^#\([0-9]*\)[^c]*/$1: \1 inputs, /"
    [ "$(cat "$work/$1.status" 2> /dev/null)" = 0 ] && return 0
    broken=$((broken + 1))
    cat "$work/$1.said"
    echo "FAIL: $1; again, in $(pwd):"
    for found in "$out/found/$1"-*; do
        [ ! -f "$found" ] || echo "    $out/fuzz_$1 $found"
    done
    return 1
}

targets=${*:-$(ls "$top_srcdir"/tests/fuzz/fuzz_*.c | sed 's/.*fuzz_\(.*\)\.c$/\1/')}
rm -rf "$out/found"
build
broken=0
# Two at a time.
set -- $targets
while [ $# -gt 0 ]; do
    run "$1" &
    one=$!
    [ $# -eq 1 ] || run "$2"
    wait $one
    tell "$1"
    [ $# -eq 1 ] || tell "$2"
    shift
    [ $# -eq 0 ] || shift
done
[ $broken -eq 0 ] || fail "$broken targets found something"
