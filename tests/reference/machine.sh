#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
#     unshare --mount --uts --ipc --net --cgroup --pid --fork --kill-child sh machine.sh ROOT
#
# The Debian below ROOT as a machine of its own, with systemd as its first process, for
# run-package.sh: it sees no device but the harmless ones, no network, and of the control
# groups its own alone.  It ends with the process that unshare is.
set -e
cd "$1"
mount --bind . .
cd "$1"
mount -t proc proc proc
mount -t sysfs -o ro sysfs sys
mount -t cgroup2 none sys/fs/cgroup
for folder in dev run tmp; do
    mount -t tmpfs -o mode=755 tmpfs $folder
done
chmod 1777 tmp
mkdir dev/pts dev/shm run/old
# Group tty is 5 on every Debian.
mount -t devpts -o newinstance,ptmxmode=0666,gid=5,mode=620 devpts dev/pts
ln -s pts/ptmx dev/ptmx
ln -s /proc/self/fd dev/fd
for device in full null random tty urandom zero; do
    : > dev/$device
    mount --bind /dev/$device dev/$device
done
pivot_root . run/old
# What is mounted for one service, its credentials, is to be seen by it: "/" is shared.
exec chroot . /bin/sh -c 'umount -l /run/old
    rmdir /run/old
    mount --make-rshared /
    exec env -i container=other PATH=/usr/sbin:/usr/bin:/sbin:/bin /lib/systemd/systemd \
        --unit=multi-user.target --log-target=null --show-status=no < /dev/null'
