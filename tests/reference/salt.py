#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Recordings of a probe in jars over salts, whose error is known.

salt.py make FOLDER         a configuration and recordings; what there is to know as shell words
salt.py near A B TOLERANCE  whether two numbers are that near
salt.py check JSON LOW HIGH what `warmside salt --format json` must keep to
"""
import json
import math
import random
import sys

BEGIN = 1767571200  # 2026-01-05T00:00:00Z
MINUTE, HOUR = 60, 3600
READS = (0.95, 7.0)  # the probe reads READS[0] x true + READS[1] %


# Greenspan 1977, J. Res. NBS 81A, 89-96; coefficients as quoted in public repositories.
def nacl(t):
    return 75.5164 + 0.0398321 * t - 2.65459e-3 * t * t + 2.848e-5 * t ** 3


def mgcl2(t):
    return 33.6686 - 0.00797397 * t - 1.08988e-3 * t * t


def kcl(t):
    return 88.6190 - 0.193340 * t + 8.99706e-4 * t * t


# D. Sonntag 1990, over water; Pa.
def saturated(t):
    k = t + 273.15
    return math.exp(-6096.9385 / k + 21.2409642 - 2.711193e-2 * k + 1.673952e-5 * k * k
                    + 2.433502 * math.log(k))


def room_at(time):
    day = math.sin((time - BEGIN) / HOUR / 24 * 2 * math.pi)
    return 22 + 0.3 * day, 44 - 7 * day + 2 * math.sin(time / 5400)


def jar(salt, leak=0.0, delay=1.2):
    """Each minute's air in the jar; `leak` is the share of the room's in the end."""
    vapour = salt_warmth = None

    def step(time):
        nonlocal vapour, salt_warmth
        celsius, room = room_at(time)
        if vapour is None:
            vapour, salt_warmth = 0.5 * saturated(celsius), celsius
        salt_warmth += (celsius - salt_warmth) * (1 - math.exp(-MINUTE / HOUR / 0.5))
        rest = (1 - leak) * salt(salt_warmth) / 100 * saturated(salt_warmth) \
            + leak * room / 100 * saturated(celsius)
        vapour += (rest - vapour) * (1 - math.exp(-MINUTE / HOUR / delay))
        return celsius, 100 * vapour / saturated(celsius)
    return step


def write(path, parts):
    """parts: (hours, what is around the probe at a time)"""
    chance = random.Random(6)
    with open(path, "w", encoding="ascii") as out:
        out.write("time,probe,temperature,humidity\n")
        time = BEGIN
        for hours, around in parts:
            for _ in range(int(hours * HOUR / MINUTE)):
                celsius, humidity = room_at(time)
                out.write(f"{time},room,{celsius:.1f},{humidity:.1f}\n")
                celsius, humidity = around(time)
                read = READS[0] * humidity + READS[1] + chance.gauss(0, 0.1)
                out.write(f"{time},j,{celsius:.1f},{read:.1f}\n")
                time += MINUTE


CONF = """state = "{folder}/state"
archive {{ minutes = "3d"  ten_minutes = "3d"  hours = "3d" }}
bus "b" {{ port = "/dev/none"  speaks = "lines"  line = "{{probe}},{{temperature}},{{humidity}}" }}
probe "room" {{ bus = "b" }}
probe "j" {{
    bus = "b"
    # here
}}
probe "loose" {{ bus = "b" }}
room {{ probe = "room" }}
enclosure "jar" {{ in_service = "no"  cool_side {{ probe = "j" }} }}
"""


def make(folder):
    with open(f"{folder}/salt.conf", "w", encoding="ascii") as out:
        out.write(CONF.format(folder=folder))
    out_of_it = room_at
    write(f"{folder}/two.csv", [(24, jar(mgcl2)), (2, out_of_it), (24, jar(nacl)), (1, out_of_it)])
    write(f"{folder}/leak.csv", [(26, jar(nacl, leak=0.15))])
    write(f"{folder}/slow.csv", [(14, jar(nacl, delay=8))])
    write(f"{folder}/near.csv", [(16, jar(nacl)), (2, out_of_it), (16, jar(kcl))])
    print(f"mg_from={BEGIN} mg_to={BEGIN + 24 * HOUR} na_from={BEGIN + 26 * HOUR} "
          f"na_to={BEGIN + 50 * HOUR}")


def check(path, low, high):
    with open(path, encoding="utf-8") as text:
        found = json.load(text)
    assert found["probe"] == "j" and found["enclosure"] == "jar" and found["place"] == "cool_side"
    for test in found["tests"]:
        salt = {"nacl": nacl, "mgcl2": mgcl2}[test["salt"]]
        actual = salt(test["temperature"])
        assert abs(test["actual"] - actual) < 1e-5, (test, actual)
        assert abs(test["read"] - (READS[0] * actual + READS[1])) <= test["uncertainty"], test
        assert test["corrected"] is None or abs(test["corrected"] - actual) < 0.3, test
        assert abs(test["difference"] - (test["actual"] - test["read"])) < 2e-6
        squares = sum((part or 0) ** 2 for part in test["standard_uncertainties"].values())
        assert abs(test["uncertainty"] - 2 * math.sqrt(squares)) < 1e-5
        assert low <= test["uncertainty"] <= high, test
        assert test["from"] + 3 * HOUR < test["settled"] < test["from"] + 9 * HOUR
        assert test["room_known"] and test["unseen_leak"] < 3, test


def main():
    if sys.argv[1] == "make":
        make(sys.argv[2])
    elif sys.argv[1] == "near":
        first, second, tolerance = map(float, sys.argv[2:5])
        sys.exit(0 if abs(first - second) <= tolerance else f"{first} is not near {second}")
    else:
        check(sys.argv[2], float(sys.argv[3]), float(sys.argv[4]))


main()
