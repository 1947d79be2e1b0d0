#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The source read by cppcheck and clang-tidy, and with LONG=1 by clang's static analyzer
# (what scan-build runs), which takes ten minutes of a processor.  Prints what
# they find, and fails when that is anything.
#
#     sh contrib/analyse.sh
#
# Called by check.sh.  Needs nothing but the source: what configure would say is said here.
set -u
cd "$(dirname "$0")/.." || exit 99
jobs=$(getconf _NPROCESSORS_ONLN)
work=$(mktemp -d) || exit 99
trap 'rm -rf "$work"' EXIT
faults=0

for tool in cppcheck clang-tidy clang; do
    command -v "$tool" > /dev/null || {
        echo "analyse: $tool is not there; contrib/setup.sh installs it"
        exit 1
    }
done
{
    echo '#define _GNU_SOURCE 1'
    echo '#define PACKAGE_VERSION "0"'
    echo '#define PACKAGE_NAME "warmside"'
} > "$work/config.h"
: > "$work/page_css.inc"
cat > "$work/macros.h" << 'END'
#define json_array_foreach(list, i, value) \
    for (i = 0; i < json_array_size(list) && (value = json_array_get(list, i)); i++)
END
flags="-std=gnu11 -DHAVE_CONFIG_H -I. -I$work -include $work/config.h -DDEFAULT_CONF=\"\"
    -DEXAMPLE_CONF=\"\" $(pkg-config --cflags cairo 2> /dev/null)"

# look NAME COMMAND...: each source file to the command; what it says is a fault.
look()
{
    look_name=$1
    shift
    printf '%s\n' conf/*.c daemon/*.c report/*.c |
        grep -v -e '^report/page\.c$' -e '^daemon/service_' |
        xargs -P "$jobs" -n 4 "$@" > "$work/$look_name" 2>&1
    if grep -qE '(warning|error):' "$work/$look_name"; then
        cat "$work/$look_name"
        faults=$((faults + 1))
    fi
}

# jansson's macro is spelt out.  A struct that ends with the call it is made for may lead
# to what lives as long (autoVariables).
cppcheck -q -j "$jobs" --std=c11 --enable=warning,performance,portability -I. \
    --suppress=missingIncludeSystem --suppress=autoVariables \
    --include="$work/macros.h" --error-exitcode=1 conf daemon report || faults=$((faults + 1))

# shellcheck disable=SC2086,SC2016
look tidy sh -c 'flags=$1; shift; exec clang-tidy --quiet "$@" -- $flags 2> /dev/null' tidy "$flags"
if [ -n "${LONG:-}" ]; then
    # shellcheck disable=SC2086,SC2016
    look analyzer sh -c 'flags=$1; shift
        exec clang --analyze --analyzer-output text $flags "$@"' analyzer "$flags"
fi
echo "$faults of the readers have found something"
[ $faults -eq 0 ]
