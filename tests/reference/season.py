# SPDX-License-Identifier: GPL-3.0-or-later
#
# A season over a recording, reckoned a second time: dates by datetime, instants by
# zoneinfo (the IANA time zone database), none of it as warmsided does it.
#
#   season.py record FROM TO        the recording, a row a minute; FROM, TO local times
#   season.py bands FILE FROM       bands.jsonl must hold exactly what is due
#   season.py out FROM TO CONF REPORT    totals, excursions and now must agree
import json
import subprocess
import sys
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("Europe/Berlin")
# As tests/run-season.sh configures it.
CHANGE = time(8, 0)
FIRST, LAST, RAMP = date(2026, 3, 27), date(2026, 4, 3), 3
ORDINARY = {"day": (22, 26), "night": (22, 26), "limits": (10, 32)}
SEASON = {"day": (9, 14), "night": (8, 13), "limits": (2, 24)}
READ = 19.5


def instant(text):
    return datetime.fromisoformat(text).replace(tzinfo=ZONE).timestamp()


def weight(day):
    return max(0, min((day - FIRST).days / RAMP, (LAST - day).days / RAMP, 1))


def bands(day):
    w = weight(day)
    return {key: [o + w * (s - o) for o, s in zip(ORDINARY[key], SEASON[key])]
            for key in ORDINARY}


def change(day):
    return datetime.combine(day, CHANGE, ZONE).timestamp()


def keepers_day(at):
    local = datetime.fromtimestamp(at, ZONE)
    return local.date() - timedelta(days=0 if local.time() >= CHANGE else 1)


def record(begin, end):
    print("time,probe,temperature,humidity")
    for at in range(int(begin), int(end) + 1, 60):
        print(f"{at},p,{READ},")


def same(one, other):
    return all(abs(a - b) < 1e-9 for a, b in zip(one, other))


def check_bands(path, begin):
    with open(path, encoding="utf-8") as file:
        lines = [line for line in map(json.loads, file) if line["quantity"] == "temperature"]
    first = keepers_day(begin)
    due = [(begin, bands(first))]
    for day in (first + timedelta(days=i) for i in range(1, 15)):
        if weight(day) != weight(day - timedelta(days=1)):
            due.append((change(day), bands(day)))
    if len(lines) != len(due):
        sys.exit(f"{len(lines)} lines, {len(due)} are due: {lines}")
    for line, (at, band) in zip(lines, due):
        if line["time"] != at or not all(same(line[key], band[key]) for key in band):
            sys.exit(f"is {line}, due at {at}: {band}")


def ask(report, conf, *arguments):
    text = subprocess.run([report, "-c", conf, *arguments, "--format", "json"], check=True,
                          capture_output=True, text=True).stdout
    return json.loads(text)


def part(at):
    """Day or night, with no changeover."""
    return "day" if CHANGE <= datetime.fromtimestamp(at, ZONE).time() < time(20) else "night"


def check_out(begin, end, conf, report):
    """Minute by minute: the value never moves, so each minute is whole."""
    seconds = {"below": 0, "above": 0, "unsafe": 0}
    for at in range(int(begin), int(end), 60):
        now = bands(keepers_day(at))
        low, high = now[part(at)]
        seconds["below"] += 60 * (READ < low - 1e-9)
        seconds["above"] += 60 * (READ > high + 1e-9)
    window = ["--from", str(int(begin)), "--to", str(int(end))]
    place = [p for e in ask(report, conf, "totals", *window)["enclosures"] for p in e["places"]
             if p["quantity"] == "temperature"][0]
    for side, key in (("below", "low_seconds"), ("above", "high_seconds")):
        if abs(place[key] - seconds[side]) > 1e-3:
            sys.exit(f"{key}: {place[key]}, by the calendar {seconds[side]}")
    if min(seconds["below"], seconds["above"]) == 0:
        sys.exit("the test is not worth its name")
    sides = [e["side"] for e in ask(report, conf, "excursions", *window)["excursions"]]
    if sorted(set(sides)) != ["above", "below"]:
        sys.exit(f"excursions: {sides}")
    now = ask(report, conf, "now")["enclosures"][0]["places"][0]
    due = bands(keepers_day(end))
    if not same(now["band"], due[part(end)]) or not same(now["limits"], due["limits"]):
        sys.exit(f"now is {now}, due is {due}")


def main():
    command, *rest = sys.argv[1:]
    if command == "record":
        record(instant(rest[0]), instant(rest[1]))
    elif command == "bands":
        check_bands(rest[0], instant(rest[1]))
    else:
        check_out(instant(rest[0]), instant(rest[1]), rest[2], rest[3])


main()
