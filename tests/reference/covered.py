# SPDX-License-Identifier: GPL-3.0-or-later
"""How many lines of the programs a build with counters (--coverage) has run.

    python3 covered.py BUILD SOURCE FLOOR

Prints a table of the folders conf, daemon and report, and the lines not run of every
file with less than FLOOR per cent of them.  Ends with 1 when a folder has less.
"""

import collections
import glob
import json
import os
import subprocess
import sys

FOLDERS = ('conf', 'daemon', 'report')


def counts(build, source):
    """{file: {line: times run}}, as gcov tells it; a header counts once."""
    notes = [note for folder in FOLDERS for note in glob.glob(f'{build}/{folder}/*.gcno')]
    if not notes:
        sys.exit(f'{build} was not built with --coverage')
    # Its status tells of files without counts, too: those that no test has run.
    said = subprocess.run(['gcov', '--json-format', '--stdout'] + notes, cwd=build,
                          stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False)
    told = said.stdout.splitlines()
    if len(told) != len(notes):
        sys.exit(f'gcov tells of {len(told)} of {len(notes)} files')
    files = collections.defaultdict(dict)
    for text in told:
        for one in json.loads(text)['files']:
            name = os.path.relpath(os.path.join(build, one['file']), source)
            if name.split('/')[0] in FOLDERS:
                lines = files[name]
                for line in one['lines']:
                    number = line['line_number']
                    lines[number] = max(lines.get(number, 0), line['count'])
    return files


def ranges(lines):
    """The lines that were not run; what has no code between them does not part them."""
    found = []
    open_range = False
    for number in sorted(lines):
        if lines[number]:
            open_range = False
        elif open_range:
            found[-1][1] = number
        else:
            found.append([number, number])
            open_range = True
    return ' '.join(f'{a}' if a == b else f'{a}-{b}' for a, b in found)


def share(lines):
    """Per cent of the lines that were run."""
    return 100 * sum(1 for count in lines.values() if count) / len(lines)


def main(build, source, floor):
    files = counts(os.path.realpath(build), os.path.realpath(source))
    short = []
    print(f'{"folder":<8}{"files":>6}{"lines":>8}{"run":>8}{"share":>9}')
    for folder in FOLDERS:
        ours = {f'{name}:{n}': count for name, lines in files.items()
                if name.startswith(f'{folder}/') for n, count in lines.items()}
        run = sum(1 for count in ours.values() if count)
        of_files = sum(1 for name in files if name.startswith(f'{folder}/'))
        print(f'{folder:<8}{of_files:>6}{len(ours):>8}{run:>8}{share(ours):>7.1f} %')
        if share(ours) < floor:
            short.append(folder)
    print(f'\nnot run, of the files below {floor:g} %:')
    for name in sorted(files, key=lambda name: share(files[name])):
        if share(files[name]) < floor:
            print(f'{share(files[name]):6.1f} %  {name}: {ranges(files[name])}')
    for folder in short:
        print(f'FAILED: {folder} has less than {floor:g} %')
    return 1 if short else 0


if __name__ == '__main__':
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1], sys.argv[2], float(sys.argv[3])))
