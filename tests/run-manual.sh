#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The manual pages against the programs: every option, command and key stands
# in its page and nothing else does, the shipped configuration knows every key,
# and the examples work.  With mandoc and man the pages must be clean mdoc.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
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

"$daemon" --help > "$work/daemon.told"
long_options < "$work/daemon.told" > "$work/daemon.help"
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

# tables FOLDER: "--NAME TAKES" for each line of the folder's getopt tables and
# "-LETTER TAKES" for each of its letters; TAKES is no or required.
tables()
{
    cat "$top/$1"/*.c | sed -n '/struct option [a-z_]*\[\] = {/,/^[[:space:]]*};/p' |
        grep -oE '\{ "[a-z-]+", [a-z]+_argument' |
        sed 's/{ "\(.*\)", \(.*\)_argument/--\1 \2/'
    cat "$top/$1"/*.c | sed -n 's/.*getopt_long(argc, argv, "\([^"]*\)".*/\1/p' |
        grep -oE '[a-zA-Z]:?' | sed 's/^\(.\)$/-\1 no/; s/^\(.\):$/-\1 required/'
}

# The code's own tables: each option stands in help and page and nothing else
# does, and what takes a word after it is shown with one in both.
agree_with_code()
{
    tables "$1" > "$work/table"
    sed -n 's/^\(--[a-z-]*\) .*/\1/p' "$work/table" > "$work/table.long"
    sed -n 's/^\(-[a-zA-Z]\) .*/\1/p' "$work/table" > "$work/table.short"
    sed -n 's/^  \(-[a-zA-Z]\), --.*/\1/p' "$3" > "$work/help.short"
    grep '^\.It ' "$2" | grep -oE 'Fl [a-zA-Z]( |$)' | sed 's/Fl \(.\).*/-\1/' > "$work/page.short"
    equal "the code of $1/" "$work/table.long" "$1's help" "$work/$1.help"
    equal "the code of $1/" "$work/table.long" "${2##*/}" "$work/$1.page"
    equal "the code of $1/" "$work/table.short" "$1's help" "$work/help.short"
    equal "the code of $1/" "$work/table.short" "${2##*/}" "$work/page.short"
    while read -r option takes; do
        grep -qE "^\.It .*Fl ${option#-} Ar " "$2" && shown=required || shown=no
        [ $shown = "$takes" ] || fault "$option: the code says $takes argument, ${2##*/} $shown"
        # In the help a letter stands before its long name, which has the word.
        grep -qE -e "(^|[^a-z-])$option(, --[a-z]+)? [A-Z]" "$3" && shown=required || shown=no
        [ $shown = "$takes" ] || fault "$option: the code says $takes argument, $1's help $shown"
    done < "$work/table"
}
agree_with_code daemon "$top/daemon/warmsided.8" "$work/daemon.told"
agree_with_code report "$top/report/warmside.1" "$work/help"

# What the table knows the switch behind it must take, too.
for program in daemon report; do
    case $program in daemon) run=$daemon ;; *) run=$report ;; esac
    while read -r option; do
        # Given none, a draft would search the ports of whoever runs this.
        case $option in --draft) port=$work/none ;; *) port= ;; esac
        "$run" -c "$work/none.conf" "$option" ${port:+"$port"} > "$work/try" 2>&1
        grep -qE 'unrecognized option|ambiguous' "$work/try" && fault "$run does not take $option"
    done < "$work/$program.page"
done

# ---- exit statuses --------------------------------------------------------------
# statuses PAGE PROGRAM TASK: help, a configuration that is not there, a wrong option
# and words too many give what the page lists, and all of that.
statuses()
{
    status_page=$1
    shift
    "$1" --help > "$work/try" && echo 0 > "$work/statuses"
    "$1" -c "$work/none.conf" "$2" > "$work/try" 2>&1
    echo $? >> "$work/statuses"
    "$1" --qqqq > "$work/try" 2>&1
    echo $? >> "$work/statuses"
    "$1" -c "$work/none.conf" "$2" qqqq qqqq > "$work/try" 2>&1
    echo $? >> "$work/statuses"
    sed -n '/^\.Sh EXIT STATUS/,/^\.Sh EX/s/^\.It \([0-9]*\)$/\1/p' "$status_page" \
        > "$work/statuses.page"
    equal "${1##*/}" "$work/statuses" "EXIT STATUS of ${status_page##*/}" "$work/statuses.page"
}
statuses "$top/daemon/warmsided.8" "$daemon" --check
statuses "$top/report/warmside.1" "$report" now

# An option that is only spoken of must be one of the two programs'.
# shellcheck disable=SC2086 # $pages are several
cat $pages | sed 's/\\-/-/g; s/Fl -/--/g' > "$work/spoken"
cat "$top/conf/warmside.conf" "$top/conf/species.conf" >> "$work/spoken"
for option in $(long_options < "$work/spoken" | sort -u); do
    grep -qxe "$option" "$work/daemon.help" "$work/report.help" ||
        fault "$option is spoken of, but no program takes it"
done

# What is called by name in the pages of the source tree must be there to call.
for page in "$top/README.md" "$top"/contrib/*.md; do
    for option in $(grep -oE 'warmsided? [^`#|]*' "$page" | long_options | sort -u); do
        grep -qxe "$option" "$work/daemon.help" "$work/report.help" ||
            fault "$option in ${page##*/}: no program takes it"
    done
    for command in $(grep -oE '(^|[^.a-z])warmside (-c [^ ]+ )?[a-z]+( |`|$)' "$page" |
        sed 's/.*warmside \(-c [^ ]* \)*\([a-z]*\).*/\2/' | sort -u); do
        grep -qx "$command" "$work/commands.help" || fault "warmside $command in ${page##*/}: no such command"
    done
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
 season "x" { $alien
 eggs $quantities
 }
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
        *season*) title=season ;;
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
# Pages spoken of: ours, or of this list.  (mandoc looks for them among what is
# installed, where ours are not.)
others=' crontab(5) rrdfetch(1) rrdtool(1) systemd(1) systemd.exec(5) systemd.timer(5) '
ours=
for page in $pages; do
    name=${page##*/}
    ours="$ours ${name%.*}(${name##*.})"
done
# shellcheck disable=SC2086 # $pages are several
sed -n 's/^\.Xr \([^ ]*\) \([0-9]\).*/\1(\2)/p' $pages | sort -u > "$work/referred"
[ -s "$work/referred" ] || fault "no page refers to another"
while read -r name; do
    case "$ours $others" in *" $name "*) ;; *) fault "$name is referred to; is there such a page?" ;; esac
done < "$work/referred"

if command -v mandoc > /dev/null; then
    for page in $pages; do
        mandoc -T lint "$page" 2>&1 |
            grep -vE 'referenced manual not found|outdated mandoc\.db lacks' > "$work/lint.txt"
        [ ! -s "$work/lint.txt" ] || { cat "$work/lint.txt" && fault "$page: mandoc objects"; }
    done
else
    echo "unchecked: mdoc (no mandoc)"
fi
if man --version > /dev/null 2>&1; then
    for page in $pages; do
        man --warnings -E UTF-8 -l -Tutf8 -Z "$page" 2> "$work/man.txt" > /dev/null ||
            fault "$page: man cannot show it"
        [ ! -s "$work/man.txt" ] || { cat "$work/man.txt" && fault "$page: man warns"; }
    done
else
    echo "unchecked: man's own warnings (no man)"
fi

[ $faults -eq 0 ] || fail "$faults faults in the manual"
