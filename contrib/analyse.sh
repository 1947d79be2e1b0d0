#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Reads the programs' sources for mistakes, with three tools that must find none:
# cppcheck, clang-tidy (.clang-tidy says what for) and clang's analyzer, file by file as
# scan-build runs it.  Prints what they find, and PASS or FAIL of each; what is no mistake is
# rewritten so that it looks like none, or left out below or in .clang-tidy with its reason.
#
#     sh contrib/analyse.sh FOLDER [FILE...]
#
# FOLDER: where the programs were configured and built.  FILE: those of conf/, daemon/ and
# report/ alone; else all.  JOBS are run at once, as many as there are processors without it.
# LONG=1: the analyzer follows every path as far as it can, which takes ten minutes.
set -u
source=$(cd "$(dirname "$0")/.." && pwd) || exit 99
if [ $# -eq 0 ] || [ ! -f "$1/config.h" ]; then
    echo "usage: sh contrib/analyse.sh FOLDER [FILE...]; FOLDER has been configured and built" >&2
    exit 2
fi
cd "$1" || exit 99
shift
jobs=${JOBS:-$(getconf _NPROCESSORS_ONLN)}
failed=0

for tool in cppcheck clang clang-tidy make; do
    command -v $tool > /dev/null || {
        echo "analyse: $tool is not there; sh contrib/setup.sh installs it" >&2
        exit 1
    }
done

# What the compiler is told, an argument a line, as clang-tidy reads it.
printf 'show-flags:\n\t@printf "%%s\\n" $(DEFS) $(AM_CPPFLAGS) $(CPPFLAGS) -std=gnu11\n' |
    make -s -f Makefile -f - show-flags > compile_flags.txt || exit 1

if [ $# -gt 0 ]; then
    files=$(printf "$source/%s\n" "$@")
else
    files=$(ls "$source"/conf/*.c "$source"/daemon/*.c "$source"/report/*.c)
fi

# verdict TOOL STATUS
verdict()
{
    if [ "$2" -eq 0 ]; then
        echo "PASS: $1"
    else
        echo "FAIL: $1"
        failed=$((failed + 1))
    fi
}

# Left out: what only programs with threads must not call; that mmap without a file has -1
# for one, which its description of the calls does not know.
# shellcheck disable=SC2086 # no name has blanks
look_with_cppcheck()
{
    cppcheck -q -j "$jobs" --error-exitcode=1 --std=c11 --enable=warning,performance,portability \
        --library=posix --library="$source/contrib/analyse.cfg" \
        --suppress=readdirCalled --suppress=getpwuidCalled --suppress=getgrgidCalled \
        --suppress=invalidFunctionArg:"$source"/daemon/archivist_link.c \
        --suppress=invalidFunctionArg:"$source"/daemon/unshared.c \
        --include=config.h -I. -I"$source" -DHAVE_CONFIG_H=1 "$@" $files
}

# each COUNT COMMAND...: the command with COUNT of the files behind it, several at once.
each()
{
    count=$1
    shift
    # shellcheck disable=SC2086
    printf '%s\n' $files | xargs -n "$count" -P "$jobs" "$@"
}

set --
while read -r flag; do
    case $flag in -D*_CONF=*) set -- "$@" "$flag" ;; esac
done < compile_flags.txt
look_with_cppcheck "$@" 2>&1
verdict cppcheck $?

each 8 clang-tidy --quiet -p . 2> clang-tidy.err
status=$?
grep -E '(error|fatal):|Error' clang-tidy.err
verdict clang-tidy $status

# A path through many calls is left where most mistakes are found already: an eighth of the
# time, and what it found was the same.
set --
[ -n "${LONG:-}" ] || set -- -Xclang -analyzer-config -Xclang max-nodes=10000
while read -r flag; do
    set -- "$@" "$flag"
done < compile_flags.txt
each 1 clang --analyze --analyzer-output text -Xclang -analyzer-werror "$@" 2>&1
verdict "clang's analyzer" $?

rm -f clang-tidy.err
[ $failed -eq 0 ]
