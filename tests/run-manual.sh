#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The manual pages against the programs: every option, command and key stands
# in its page and nothing else does, the shipped configuration knows every key,
# and the examples work.  With mandoc the pages must be clean mdoc.
. "${top_srcdir:-.}/tests/lib.sh"
top=$(cd "$top_srcdir" && pwd) || exit 99
daemon=$(cd "$top_builddir" && pwd)/warmsided
report=$(cd "$top_builddir" && pwd)/warmside
pages="$top/daemon/warmsided.8 $top/report/warmside.1 $top/conf/warmside.conf.5
    $top/conf/warmside-recording.5"
conf_page=$top/conf/warmside.conf.5
faults=0

fault()
{
    echo "$*"
    faults=$((faults + 1))
}

# equal WHAT FILE OTHER-WHAT OTHER-FILE: two lists of words, without order.
equal()
{
    [ -s "$2" ] || fault "nothing found: $1"
    sort -u "$2" > "$work/one" && sort -u "$4" > "$work/other"
    for word in $(comm -23 "$work/one" "$work/other"); do
        fault "$word: in $1, not in $3"
    done
    for word in $(comm -13 "$work/one" "$work/other"); do
        fault "$word: in $3, not in $1"
    done
}

# ---- options and commands ----------------------------------------------------
long_options()
{
    grep -oE '(^|[^a-z-])--[a-z][a-z-]*' | sed 's/.*--/--/'
}

# What a list of a page defines: its .It lines, "Fl -name" being --name.
defined_options()
{
    grep '^\.It ' "$1" | grep -oE 'Fl -[a-z][a-z-]*' | sed 's/Fl /-/'
}

"$daemon" --help | long_options > "$work/daemon.help"
defined_options "$top/daemon/warmsided.8" > "$work/daemon.page"
equal "warmsided --help" "$work/daemon.help" warmsided.8 "$work/daemon.page"

"$report" --help > "$work/help"
sed -n 's/^  \([a-z][a-z]*\) .*/\1/p' "$work/help" > "$work/commands.help"
sed -n '/^The commands are:/,/^The options are:/s/^\.It Ic \([a-z]*\).*/\1/p' \
    "$top/report/warmside.1" > "$work/commands.page"
equal "warmside --help" "$work/commands.help" warmside.1 "$work/commands.page"
while read -r command; do
    "$report" "$command" --help >> "$work/help" || fault "warmside $command --help fails"
done < "$work/commands.help"
long_options < "$work/help" > "$work/report.help"
defined_options "$top/report/warmside.1" > "$work/report.page"
equal "warmside --help" "$work/report.help" warmside.1 "$work/report.page"

# Neither page nor help may promise what the program does not take.
for program in daemon report; do
    while read -r option; do
        case $program in daemon) run=$daemon ;; *) run=$report ;; esac
        # Given none, a draft would search the ports of whoever runs this.
        case $option in --draft) port=$work/none ;; *) port= ;; esac
        "$run" -c "$work/none.conf" "$option" ${port:+"$port"} > "$work/try" 2>&1
        grep -qE 'unrecognized option|ambiguous' "$work/try" && fault "$run does not take $option"
    done < "$work/$program.page"
done

# An option that is only spoken of must be one of the two programs'.
# shellcheck disable=SC2086 # $pages are several
cat $pages | sed 's/\\-/-/g; s/Fl -/--/g' > "$work/spoken"
cat "$top/conf/warmside.conf" "$top/conf/species.conf" >> "$work/spoken"
for option in $(long_options < "$work/spoken" | sort -u); do
    grep -qxe "$option" "$work/daemon.help" "$work/report.help" ||
        fault "$option is spoken of, but no program takes it"
done

# ---- keys ----------------------------------------------------------------------
# A key nobody knows, in each section: the fault lists those that are known.
alien="qqqqqqqqqqqqqqqq = 1"
quantities="{ $alien
 temperature { $alien
 }
 humidity { $alien
 } }"
cat > "$work/keys.conf" << END
$alien
day { $alien
}
quiet { $alien
}
archive { $alien
}
bus "x" { $alien
}
probe "x" { $alien
}
room { $alien
}
species "x" { $alien
 advice { $alien
 }
 eggs $quantities
}
enclosure "x" { $alien
 eggs $quantities
}
webhook "x" { $alien
}
heartbeat { $alien
}
END
"$daemon" -c "$work/keys.conf" --check > "$work/keys.faults"
# "SECTION KEY" lines; the title of the section's part of the page, blanks as _.
sed -n 's/.* qqqq* is not known \(.*\); known are \(.*\)/\1;\2/p' "$work/keys.faults" |
    while IFS=';' read -r where known; do
        case $where in
        "at the top") title=The_top ;;
        *temperature | *humidity) title=temperature_and_humidity ;;
        *eggs) title=place ;;
        *advice) title=advice ;;
        *) title=$(echo "$where" | sed 's/^in \([a-z]*\).*/\1/') ;;
        esac
        for key in $known; do
            echo "$title ${key%,}"
        done
    done > "$work/keys.known"
# In the page: each .It line of a part gives the words behind Ic.
awk '/^\.Sh/ { part = "" }
    /^\.Ss/ { part = $2; for (i = 3; i <= NF; i++) part = part "_" $i }
    /^\.It / && part { for (i = 2; i < NF; i++) if ($i == "Ic") print part, $(i + 1) }' \
    "$conf_page" > "$work/keys.page"
sed 's/ /./' "$work/keys.known" > "$work/keys.known.words"
sed 's/ /./' "$work/keys.page" > "$work/keys.page.words"
equal "the grammar" "$work/keys.known.words" warmside.conf.5 "$work/keys.page.words"
[ "$(wc -l < "$work/keys.known")" -ge 90 ] || fault "hardly a key found"

# The shipped configuration has each as a statement, perhaps in a comment, or
# in one of its lists of keys ("#   key  what it is").
for key in $(sed 's/.* //' "$work/keys.known" | sort -u); do
    grep -qE "(^|[^a-z_])$key([[:space:]]+\"[^\"]*\")?[[:space:]]*[={]|^#   [a-z_, ]*\<$key\>" \
        "$top/conf/warmside.conf" || fault "$key is not explained in conf/warmside.conf"
done

# ---- examples --------------------------------------------------------------------
# displays PAGE: what stands in the .Bd displays of its EXAMPLES, as it prints.
displays()
{
    sed -n '/^\.Sh EXAMPLES/,/^\.Sh SEE/p' "$1" |
        sed -n '/^\.Bd/,/^\.Ed/{ /^\.[BE]d/d; s/\\-/-/g; s/\\e/\\/g; p; }'
}

# The first configuration with the second added; a state of its own.
displays "$conf_page" | sed "s,\"/var/lib/warmside\",\"$work/state\"," > "$work/example.conf"
cp "$top/conf/species.conf" "$work"
(umask 077 && echo "https://hook.example/phone" > "$work/phone.url" &&
    echo "https://hook.example/neighbour" > "$work/neighbour.url")
"$daemon" -c "$work/example.conf" --check > "$work/example.out" ||
    { cat "$work/example.out" && fault "the example of warmside.conf.5 has faults"; }

displays "$top/conf/warmside-recording.5" > "$work/example.csv"
"$daemon" -c "$work/example.conf" --replay "$work/example.csv" > "$work/replay.out" \
    2> "$work/replay.err" || fault "the example of warmside-recording.5 is refused"
grep -q '^6 rows replayed' "$work/replay.err" || fault "the recording is not read whole"
grep 'does not know' "$work/replay.err" && fault "the recording's probes are not the example's"

# The commands of warmside.1, on what was replayed.
sed -n 's/^\.Dl \$ warmside //p' "$top/report/warmside.1" | sed 's/\\-/-/g; s/\\(dq/"/g' > "$work/commands"
[ "$(wc -l < "$work/commands")" -ge 5 ] || fault "hardly an example in warmside.1"
cd "$work" || exit 99
# The window of the examples is a while after the recording; the room, too,
# has no archive of its own yet.  Both are said and no failure.
while read -r arguments; do
    eval "\"$report\" -c example.conf $arguments" > command.out 2> command.err ||
        { cat command.err && fault "warmside $arguments fails"; }
done < commands

# ---- mdoc ------------------------------------------------------------------------
if command -v mandoc > /dev/null; then
    for page in $pages; do
        # Pages that are not installed here are not mandoc's business.
        mandoc -T lint "$page" 2> "$work/lint.err" |
            grep -v 'referenced manual not found' > "$work/lint.txt"
        [ ! -s "$work/lint.txt" ] || { cat "$work/lint.txt" && fault "$page: mandoc objects"; }
    done
else
    echo "unchecked: mdoc (no mandoc)"
fi

[ $faults -eq 0 ] || fail "$faults faults in the manual"
