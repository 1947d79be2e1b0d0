#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What a live watch of 12 enclosures writes to its disk, each probe read every
# 10 s: bytes that reach the device of an ext4 file system of its own, for each
# enclosure and day.  Side by side: minutes written one by one and gathered for
# ten, now.json on the disk and in memory as under a service manager.
#
#     bench-writes.sh [MINUTES]
#
# The clock is the real one, because the kernel's own is: what is dirty is
# written after 30 s, whatever we do.  Begins after 16 minutes, when gathering
# has come to its full length; MINUTES (20) should be a multiple of ten.
. "${top_srcdir:-.}/tests/lib.sh"
need losetup mkfs.ext4 mount awk
minutes=${1:-20}
settle=${SETTLE:-960}
enclosures=12
cases="one gathered memory"

mounted=
loops=
let_go()
{
    for let_go_mount in $mounted; do umount -l "$let_go_mount"; done
    for let_go_loop in $loops; do losetup -d "$let_go_loop" 2> /dev/null; done
}
trap 'let_go; clean_up' EXIT

# begin CASE: a file system, a room and a watch of its own.
begin()
{
    truncate -s 512M "$work/$1.image"
    mkfs.ext4 -q -F -E lazy_itable_init=0,lazy_journal_init=0 "$work/$1.image" \
        || fail "no file system"
    loop=$(losetup --find --show "$work/$1.image") || skip "no loop device is to be had here"
    loops="$loops $loop"
    echo "$loop" > "$work/$1.loop"
    mkdir "$work/$1"
    mount "$loop" "$work/$1" || skip "nothing may be mounted here"
    mounted="$mounted $work/$1"
    start "room-$1" "$roomsim" serve --rack "$work/$1.rack" --board "$work/$1.board" \
        --every 10 --enclosures $enclosures
    wait_until 20 test -e "$work/$1.rack" || fail "roomsim does not serve"
    "$roomsim" conf --rack "$work/$1.rack" --board "$work/$1.board" \
        --state "$work/$1/state" --every 10 --enclosures $enclosures > "$work/$1.conf" ||
        fail "no configuration"
    every=10min
    [ "$1" != one ] || every=1min
    echo "archive { minutes = \"10d\" write_every = \"$every\" }" >> "$work/$1.conf"
    unset RUNTIME_DIRECTORY
    if [ "$1" = memory ]; then
        mkdir "$work/ram"
        mount -t tmpfs tmpfs "$work/ram" || skip "nothing may be mounted here"
        mounted="$mounted $work/ram"
        RUNTIME_DIRECTORY=$work/ram
        export RUNTIME_DIRECTORY
    fi
    start daemon "$daemon" -c "$work/$1.conf"
}

# Sectors of 512 bytes written to a device so far, all that waits included.
sectors()
{
    sync -f "$work/$1"
    awk '{ print $7 }' "/sys/block/$(basename "$(cat "$work/$1.loop")")/stat"
}

for case in $cases; do begin "$case"; done
sleep "$settle"
for case in $cases; do sectors "$case" > "$work/$case.before"; done
sleep $((minutes * 60))
for case in $cases; do
    echo "$case $(($(sectors "$case") - $(cat "$work/$case.before")))"
done | awk -v minutes="$minutes" -v enclosures="$enclosures" '
    BEGIN {
        what["one"] = "each minute by itself"
        what["gathered"] = "gathered for 10 min"
        what["memory"] = "gathered for 10 min, a folder in memory"
    }
    { printf "%-40s %8.2f MB an enclosure and day\n", what[$1],
        $2 * 512 / 1e6 * 1440 / minutes / enclosures }'
