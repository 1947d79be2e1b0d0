/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Small files that are whole or not there: written beside their place,
 * synced when it matters, renamed into it.
 */
#ifndef WARMSIDE_DAEMON_FILES_H
#define WARMSIDE_DAEMON_FILES_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/* Reads or writes so many bytes of an open file from that offset on.  False when not
 * all came or went, with errno; it is 0 when the file ends before. */
bool file_read_at(int fd, void *bytes, size_t size, off_t offset);
bool file_write_at(int fd, const void *bytes, size_t size, off_t offset);

/* Replaces the file at path by these bytes.  With `synced` a power cut leaves
 * the old or the new content; without it only a crash of the program does.
 * False with errno when it could not; nothing is left behind then. */
bool file_replace(const char *path, const char *bytes, size_t size, bool synced);

/* Makes a folder with that mode; the umask is overruled.  True when it is
 * there afterwards. */
bool folder_make(const char *path, unsigned mode);

/* Syncs a file, or a folder's entries after a file in it was added, as far as
 * that can be done. */
void path_sync(const char *path);

/* Syncs a new file that is overwritten in small places from now on, and lets go of
 * its pages.  A kernel may keep them in large pieces, as they were written (ext4
 * since Linux 6.16), and then writes 1.7 MB of an archive for 40 kB that change;
 * read again where they are needed, they are small. */
void path_sync_new(const char *path);

/* True when that open file is the one at path: it may have been moved or removed. */
bool file_is_at(int fd, const char *path);

#endif
