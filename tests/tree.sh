#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The source tree itself is tested: licence lines, which folder may include
# what, sizes, calls nobody should make, and nothing lying about.  Works in a
# git tree and in an unpacked distribution; what needs a tool that is not
# there, or git, is said to be unchecked.
set -u
cd "${top_srcdir:-$(dirname "$0")/..}" || exit 99
LC_ALL=C
export LC_ALL
faults=0

if grep -q __asan_init "${top_builddir:-.}/warmsided" 2> /dev/null; then
    echo "SKIP: the source is the same under sanitizers"
    exit 77
fi

# fault PLACE SENTENCE
fault()
{
    echo "$1: $2"
    faults=$((faults + 1))
}

unchecked()
{
    echo "unchecked: $*"
}

in_git=no
[ "$(git rev-parse --show-toplevel 2> /dev/null)" = "$(pwd -P)" ] && in_git=yes

list=$(mktemp) || exit 99
trap 'rm -f "$list"' EXIT
if [ $in_git = yes ]; then
    git ls-files --cached --others --exclude-standard
else
    find README.md DEVELOPERS.md Makefile.am configure.ac conf daemon report tests contrib \
        -type f ! -path '*/.*' ! -name '*.o' ! -name '*.a' ! -name '*.log' ! -name '*.trs'
fi 2> /dev/null | sort | while read -r file; do
    [ ! -f "$file" ] || echo "$file"
done > "$list"

# files PATTERN: those there are that match, by grep -E.
files()
{
    grep -E "$1" "$list"
}

# in_all PATTERN COMMAND...: the command with all those files behind it, which are too
# many to be looked at one by one.
in_all()
{
    in_all_pattern=$1
    shift
    files "$in_all_pattern" | xargs -d '\n' -r "$@"
}

# complaints: reads "PLACE<tab>SENTENCE" lines.  Not at the end of a pipe, or
# the count would be lost.
complaints()
{
    [ -n "$1" ] || return 0
    while IFS='	' read -r place sentence; do
        fault "$place" "$sentence"
    done << END
$1
END
}

# ---- licence -----------------------------------------------------------------
# The faulty configurations are data whose line numbers are expected.
complaints "$(files '\.(c|h|sh|py|am|ac|conf|[158])$' | grep -v '^tests/faulty/' |
    xargs -d '\n' awk '
        FNR == 1 { if (file != "" && !good) print file "\t" why; file = FILENAME; good = 0 }
        FNR <= 3 && /SPDX-License-Identifier: GPL-3.0-or-later/ { good = 1 }
        FNR == 3 { nextfile }
        END { if (!good) print file "\t" why }' why="no SPDX line among its first three")"

# ---- arrows between the folders ----------------------------------------------
# forbid FOLDER OTHERS: nothing in FOLDER includes from any of OTHERS.
forbid()
{
    complaints "$(in_all "^$1/.*\.[ch]$" grep -HnE "^#[[:space:]]*include[[:space:]]+\"($2)/" |
        sed 's,^\([^:]*:[0-9]*\):.*"\(.*\)".*,\1	may not include \2,')"
}
forbid conf 'daemon|report|contrib|tests'
forbid daemon 'report|contrib|tests'
forbid report 'daemon|contrib|tests'
forbid contrib 'daemon|report|tests'

# ---- who may know which library ----------------------------------------------
# only HEADER PATTERN WHERE: of the programs' files only those that match
# include it.
includes_of()
{
    in_all '^(conf|daemon|report)/.*\.[ch]$' grep -lE "^#[[:space:]]*include[[:space:]]+<$1>"
}
only()
{
    for file in $(includes_of "$1"); do
        echo "$file" | grep -qE "$2" || fault "$file" "<$(echo "$1" | tr -d '\\')> is for $3 only"
    done
}
only 'rrd.*\.h' '^(daemon/archive[a-z_]*|report/fetch)\.[ch]$' \
    'the archive files and report/fetch.c'
only 'libserialport\.h' '^daemon/port[a-z_]*\.[ch]$' 'daemon/port*'
only 'confuse\.h' '^conf/' 'conf/'
only 'ev\.h' '^daemon/(watcher|loop|readout)[a-z_]*\.[ch]$' 'the files that run a loop'
only 'curl/.*' '^daemon/' 'daemon/'
only '(cairo/)?cairo.*\.h' '^report/' 'report/'
only 'gsl/.*' '^report/fit\.c$' 'report/fit.c'
for header in 'curl/.*' '(cairo/)?cairo.*\.h'; do
    users=$(includes_of "$header" | grep -c .)
    [ "$users" -le 1 ] || fault "<$header>" "included by $users files; one is enough"
done

# ---- sizes -------------------------------------------------------------------
complaints "$(in_all '\.(c|h|sh|py)$' wc -l | awk '
    $2 != "total" && $1 > ($2 ~ /^tests\// ? 450 : 400) {
        print $2 "\t" $1 " lines; " ($2 ~ /^tests\// ? 450 : 400) " are the most" }')"
if ctags --version 2> /dev/null | grep -q Universal; then
    complaints "$(in_all '\.[ch]$' ctags --languages=C --kinds-C=f --fields=+e -x \
        --_xformat='%{line} %{end} %N %{input}' | awk '
        { most = $4 ~ /^(tests|contrib)\// ? 70 : 60 }
        $2 - $1 + 1 > most { print $4 ":" $1 "\t" $3 " has " $2 - $1 + 1 \
            " lines; " most " are the most" }')"
else
    unchecked "lengths of functions (no universal-ctags)"
fi

# ---- calls nobody should make ------------------------------------------------
# banned PATTERN FILES WHY
banned()
{
    complaints "$(in_all "$2" grep -HnE "(^|[^A-Za-z0-9_>.])($1)[[:space:]]*\(" |
        grep -vE '^[^:]*:[0-9]+:[[:space:]]*(/?\*|//)' | sed "s,^\([^:]*:[0-9]*\):.*,\1	$3,")"
}
banned 'sprintf|vsprintf|strcpy|strcat|gets' '\.[ch]$' 'writes without knowing how much fits'
banned 'atoi|atol|atoll|atof' '\.[ch]$' 'takes any text for a number'
banned 'strtok' '\.[ch]$' 'keeps hidden state'
# The archivist and the courier are processes of their own and may wait; the
# report has no loop, and waits (bounded) only for a file that is being written.
banned 'sleep|usleep|nanosleep' \
    '^(conf/|report/([^f]|f[^e]|fe[^t])|daemon/([^acd]|a[^r]|c[^o]|d[^e])).*\.[ch]$' \
    'nothing but the event loop waits'

# ---- nothing lying about -----------------------------------------------------
if [ $in_git = yes ]; then
    for name in $(git ls-files | sed 's,/.*,,' | sort -u); do
        case $name in
        README.md | DEVELOPERS.md | COPYING | configure.ac | Makefile.am) ;;
        conf | daemon | report | tests | contrib | .*) ;;
        *) fault "$name" "does not belong at the top" ;;
        esac
    done
else
    unchecked "names at the top (not a git tree)"
fi
complaints "$(in_all '\.(c|h|sh|py|am|ac|conf|[158]|md|service|rules|in|jsonl|csv)$' \
    grep -HnE '[[:space:]]+$' | sed 's,^\([^:]*:[0-9]*\):.*,\1	ends in blanks,')"
# A link of a page leads to a file that is there, or elsewhere.
for file in $(files '\.md$'); do
    for link in $(grep -oE '\]\([^)#]+|src="[^"]+' "$file" | sed 's/^](//; s/^src="//' |
        grep -vE '^https?:'); do
        [ -e "$(dirname "$file")/$link" ] || fault "$file" "$link is linked to, but not there"
    done
done
# A program of one file is listed by its own name.
complaints "$(files '\.(c|h|sh|py|conf)$' | grep -v '^tests/faulty/' | awk '
    NR == FNR { gsub(/[^A-Za-z0-9_.\/-]/, " "); for (i = 1; i <= NF; i++) listed[$i] = 1; next }
    { name = $0; if (name ~ /^tests\/.*\.c$/) sub(/\.c$/, "", name) }
    !($0 in listed) && !(name in listed) { print $0 "\tis not listed in Makefile.am" }' \
    Makefile.am -)"

# ---- faults and their tests ----------------------------------------------------
# The last cell of each row names files and, behind each, words that stand in it.
complaints "$(sed -n '/^## What can go wrong/,/^## /p' DEVELOPERS.md | grep '^| ' | tail -n +2 |
    awk -F ' \\| ' '{ sub(/^\| /, "", $1); sub(/ \|$/, "", $NF); print $1 "\t" $NF }' |
    while IFS='	' read -r row tests; do
        named=
        # From `a` `b` to lines.
        echo "$tests" | grep -oE '`[^`]+`' | tr -d '`' | {
            while read -r word; do
                case $word in
                tests/*)
                    named=$word
                    [ -f "$named" ] || echo "DEVELOPERS.md	$row: there is no $named"
                    ;;
                *)
                    grep -qsF -- "$word" "$named" ||
                        echo "DEVELOPERS.md	$row: \"$word\" does not stand in ${named:-any test}"
                    ;;
                esac
            done
            [ -n "$named" ] || echo "DEVELOPERS.md	$row: no test is named"
        }
    done)"

# ---- benchmarks and their figures ----------------------------------------------
complaints "$({
    grep -oE '^\| `bench[a-z_-]*(\.sh)?`' DEVELOPERS.md | tr -d '|` ' | while read -r bench; do
        [ -f "tests/$bench" ] || [ -f "tests/$bench.c" ] ||
            echo "DEVELOPERS.md	there is no benchmark $bench"
    done
    for bench in $(sed -n 's/^BENCHES = //p; s/^RUN_BENCHES = //p' Makefile.am); do
        grep -qF "| \`${bench#tests/}\` |" DEVELOPERS.md ||
            echo "DEVELOPERS.md	has no figures of $bench"
    done
})"

# ---- scripts -----------------------------------------------------------------
if command -v shellcheck > /dev/null; then
    # The variables that tests/lib.sh and the makefile give are not seen here.
    in_all '(\.sh$|^\.ci/)' shellcheck -S warning -e SC1090,SC1091,SC2154 ||
        fault scripts "shellcheck objects"
else
    unchecked "scripts (no shellcheck)"
fi

echo "$faults faults in the tree"
[ $faults -eq 0 ]
