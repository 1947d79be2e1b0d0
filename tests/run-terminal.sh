#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The report tool on real terminals, of several widths and character sets: no
# line wider than it, colours only where they are wanted, ASCII where UTF-8 is
# not spoken, and the same figures everywhere.
. "${top_srcdir:-.}/tests/lib.sh"
need rrdtool python3

conf=$work/room.conf
state=$work/state
hour=1767603600 # 2026-01-05T09:00:00Z

mkdir -p "$state/archive"
cat > "$conf" << END
units = "C"
state = "$state"
bus "rack" { port = "/dev/none"  speaks = "modbus"  baud = 9600  parity = "none"  every = "10s" }
probe "a" { bus = "rack"  address = 1  temperature = "input 1 / 10"  humidity = "input 2 / 10" }
probe "b" { bus = "rack"  address = 2  temperature = "input 1 / 10" }
enclosure "T1" { label = "Büschel"  build = "glass"  cool_side { probe = "a"  humidity { day = "45..60 %" limits = "25..85 %" } } }
enclosure "T2" { label = "upper tub by the window"  warm_side { probe = "b"  temperature { day = "15..19 C" limits = "10..36 C" } } }
END

archive T1 cool_h 40:1:0:1:5 50:0:0:1:0 U:0:0:0:0
archive T2 warm_t 20.5:0:1:1:1.5

cat > "$state/now.json" << END
{"time": $hour, "enclosures": [
 {"name": "T1", "state": "unsafe", "places": [{"place": "cool_side", "quantity": "humidity", "value": 20.2, "time": $hour, "state": "unsafe", "band": [45, 60], "limits": [25, 85]}]},
 {"name": "T2", "state": "straying", "places": [{"place": "warm_side", "quantity": "temperature", "value": 20.5, "time": $hour, "state": "straying", "band": [15, 19], "limits": [10, 36]}]}], "buses": []}
END
cat > "$state/alerts.jsonl" << END
{"time":$((hour - 600)),"id":"a","message":"m","event":"raised","enclosure":"T2","place":"warm_side","quantity":"temperature","condition":"above_band","priority":"today","value":20.5,"worst":20.5,"since":$((hour - 3600))}
{"time":$((hour - 599)),"id":"a","message":"m","event":"delivered","webhook":"phone"}
{"time":$((hour - 300)),"id":"a","event":"acknowledged","enclosure":"T2","by":"anna","note":"the window was open, it is shut now; look again at noon, please"}
END

cat > "$work/look.py" << 'END'
import fcntl, os, pty, re, struct, subprocess, sys, tempfile, termios

report, conf, hour = sys.argv[1], sys.argv[2], int(sys.argv[3])
WINDOW = ["--from", str(hour - 3600), "--to", str(hour)]
ESCAPE = re.compile(r"\033\[[0-9;]*m")
# How long ago something was by today's clock, and when the answer was made.
AGO = re.compile(r"[0-9]+ d( [0-9]+ h)?|Made [^.]*")
LABEL = "Büschel"
SAID = re.compile("LC_.*|LANG|LANGUAGE|TERM|NO_COLOR|COLUMNS")
KEPT = {name: value for name, value in os.environ.items() if not SAID.fullmatch(name)}

def fault(*words):
    sys.exit("FAIL: " + " ".join(map(str, words)))

def run(command, columns, environment):
    """What arrives at a terminal of so many columns; in a pipe, for none."""
    arguments = [report, "-c", conf, *WINDOW, *command]
    environment = {**KEPT, **environment}
    if not columns:
        return subprocess.run(arguments, env=environment, check=True, capture_output=True).stdout
    terminal, other = pty.openpty()
    fcntl.ioctl(other, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    child = subprocess.Popen(arguments, env=environment, stdout=other, stderr=subprocess.PIPE)
    os.close(other)
    out = b""
    while True:
        try:
            more = os.read(terminal, 65536)
        except OSError: # Linux says EIO when nobody holds the other end
            more = b""
        if not more:
            break
        out += more
    os.close(terminal)
    errors = child.communicate()[1]
    if child.returncode != 0:
        fault(command, "ends with", child.returncode, errors)
    return out.replace(b"\r\n", b"\n")

def figures(text):
    return sorted(re.findall(r"[0-9]+(?:[.:-][0-9]+)*", AGO.sub("", " ".join(text.split()))))

def look_at(out, columns, utf8, about):
    if utf8 and "°C" not in out.decode():
        fault(about, "has lost its signs")
    if not utf8 and not out.replace(LABEL.encode(), b"").isascii():
        fault(about, "is not in ASCII:", out)
    text = ESCAPE.sub("", out.decode("utf-8" if utf8 else "latin-1"))
    if "\033" in text:
        fault(about, "has another code than those of inks:", repr(text))
    for line in text.split("\n"):
        if len(line) > columns:
            fault(about, "is wider than the terminal:", repr(line))
        if line != line.rstrip():
            fault(about, "ends in blanks:", repr(line))
    return text

def look(command):
    piped = run(command, 0, {"LC_ALL": "C", "TERM": "xterm"}).decode()
    if "\033" in piped or "°C" not in piped:
        fault(command, "is not plain UTF-8 in a pipe")
    for columns in 40, 80, 132:
        # no_NE is no locale of anywhere: its name alone says UTF-8.
        for charset, utf8 in ("C", False), ("", False), ("C.UTF-8", True), ("no_NE.UTF-8", True):
            for extra, coloured in (({}, True), ({"NO_COLOR": "1"}, False),
                                    ({"NO_COLOR": ""}, True), ({"TERM": "dumb"}, False)):
                environment = {"TERM": "xterm", "LC_ALL": charset, **extra}
                about = command, columns, environment
                out = run(command, columns, environment)
                if (b"\033" in out) != coloured:
                    fault(about, "is coloured, or is not")
                text = look_at(out, columns, utf8, about)
                if figures(text) != figures(piped):
                    fault(about, "has other figures:", figures(text), figures(piped))

# The digest of the morning is text on a terminal without being asked for, and in a file.
look(["morning", "--format", "text"])
folded = run(["morning"], 40, {"LC_ALL": "C", "TERM": "xterm"}).decode()
if "\033[34m" not in folded or "Need" not in folded or max(map(len, folded.split("\n"))) < 30:
    fault("the digest is not that of a terminal:", repr(folded))
with tempfile.TemporaryDirectory() as folder:
    path = os.path.join(folder, "morning.txt")
    run(["morning", "-o", path], 40, {"LC_ALL": "C", "TERM": "xterm"})
    with open(path, encoding="utf-8") as file:
        written = AGO.sub("", file.read())
if written != AGO.sub("", run(["morning", "--format", "text"], 0, {}).decode()):
    fault("the digest in a file is another than in a pipe:", written)

for command in ["totals"], ["excursions"], ["now"], ["alerts"]:
    look(command)
    # COLUMNS says the width of a pipe, and another than its own for a terminal.
    look_at(run(command, 0, {"COLUMNS": "60"}), 60, True, (command, "COLUMNS"))
    look_at(run(command, 132, {"LC_ALL": "C.UTF-8", "COLUMNS": "60"}), 60, True, (command, "COLUMNS"))
    if run(command, 0, {"COLUMNS": "wide"}) != run(command, 0, {}):
        fault(command, "heeds a width that is no number")
    for form in "json", "csv":
        asked = [*command, "--format", form]
        if run(asked, 40, {"LC_ALL": "C", "TERM": "xterm"}) != run(asked, 0, {}):
            fault(asked, "is not the same on a terminal")
END
python3 "$work/look.py" "$report" "$conf" "$hour" > "$work/look.out" 2>&1 || fail "on a terminal"
