# SPDX-License-Identifier: GPL-3.0-or-later
"""A board of three probes on a port of ours, which stray now and then, and the
configuration of what they watch: for daemons under a clock of ours (paced.py)."""

SERIES = {  # enclosure, DS -> probe, column, day, night
    ('A', 'warm_t'): ('w', 0, (25, 29), (24, 28)),
    ('A', 'cool_t'): ('c', 0, (23.5, 26.5), (22.5, 25.5)),
    ('A', 'cool_h'): ('c', 1, (48, 58), (45, 62)),
    ('B', 'hide_t'): ('h', 0, (25, 28), (24, 27)),
    ('B', 'hide_h'): ('h', 1, (60, 70), (60, 72)),
}
LEAP = (2, 8)           # less than a probe may leap whose last answers were few (gate.h)
HOME = {'w': (26.5, 50.0), 'c': (24.5, 53.0), 'h': (26.0, 65.0)}
HOURS, CHANGEOVER = (8 * 3600, 20 * 3600), 5400


def configuration(work, hook, every, archive):
    def rule(day, night, unit):
        return 'day = "%g..%g %s"  night = "%g..%g %s"  patience = "3min"' % (
            *day, unit, *night, unit)

    text = '''state = "%s/state"
gather = "20s"
archive { %s }
day { from = "08:00"  to = "20:00"  changeover = "90min" }
bus "board" { port = "%s/board"  speaks = "lines"  line = "{probe} {temperature} {humidity}"  every = "%ds" }
webhook "phone" { endpoint = "%s" }
''' % (work, archive, work, every, hook)
    for probe in HOME:
        text += 'probe "%s" { bus = "board" }\n' % probe
    for name in sorted({name for name, _ in SERIES}):
        text += 'enclosure "%s" {\n' % name
        for place in ('warm_side', 'cool_side', 'humid_hide'):
            here = [(ds, of) for (e, ds), of in SERIES.items()
                    if e == name and ds.startswith(place.split('_')[place == 'humid_hide'])]
            if here:
                text += '  %s { probe = "%s"\n' % (place, here[0][1][0])
                for ds, (_, column, day, night) in here:
                    text += '    %s { %s }\n' % (('temperature', 'humidity')[column],
                                                 rule(day, night, 'C%'[column]))
                text += '  }\n'
        text += '}\n'
    return text


class Board:
    """Wandering values, which cross their bands' edges now and then."""

    def __init__(self, port, rng, steps=(0.35, 1.5)):
        self.port, self.rng, self.steps = port, rng, steps
        self.values = {probe: list(home) for probe, home in HOME.items()}
        self.calm = False       # all stay at home

    def move(self):
        for probe, values in self.values.items():
            for column, reach in enumerate((4, 12)):
                home = HOME[probe][column]
                moved = values[column] + self.rng.gauss(0, self.steps[column]) + \
                    (home - values[column]) * 0.02
                if self.calm:
                    far = home - values[column] + self.rng.uniform(-0.2, 0.2)
                    moved = values[column] + min(max(far, -LEAP[column]), LEAP[column])
                values[column] = round(min(max(moved, home - reach), home + reach), 2)
        return self.values_now()

    def values_now(self):
        return {probe: tuple(values) for probe, values in self.values.items()}

    def lines(self, values):
        return [(self.port, '%s %.2f %.2f\n' % (probe, *pair)) for probe, pair in values.items()]
