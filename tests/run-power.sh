#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The power goes while archives are written, 6 times (60 with LONG=1), half of them amid a
# batch: of the disk there is only what had been synced by then, and on it every
# minute but those that had gathered, none wrong.  SEED=N: others.
. "${top_srcdir:-.}/tests/lib.sh"
need python3 rrdtool mount
library=$(cd "$top_builddir" && pwd)/tests/pace.so
[ -e "$library" ] || skip "no tests/pace.so"
grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
PATH=$PATH:/sbin:/usr/sbin
need mkfs.ext4
in_namespace --mount
cuts=6 seed=${SEED:-1}
[ -z "${LONG:-}" ] || cuts=60

unmount()
{
    for folder in "$work/after/state" "$work/state"; do
        ! mountpoint -q "$folder" || umount -l "$folder"
    done
}
trap 'unmount; clean_up' EXIT
truncate -s 128M "$work/disk"
mkfs.ext4 -q -F -E lazy_itable_init=0,lazy_journal_init=0 "$work/disk" || fail "no file system"
mkdir "$work/state"
# By itself the system would write what was not synced only after half a minute.
mount -o loop,commit=300 "$work/disk" "$work/state" 2> /dev/null || skip "no loop device"
start_hook
echo "seed $seed"
python3 "$top_srcdir/tests/reference/powercut.py" "$work" "$daemon" "$library" "$cuts" "$seed" \
    "$hook_url" "$work/disk" || fail "the archives are not the truth (SEED=$seed)"
