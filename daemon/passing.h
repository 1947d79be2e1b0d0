/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files that need not outlast a power cut, and are written so often that a
 * memory card should be spared them.  Under a service manager that gives us
 * a folder in memory (RUNTIME_DIRECTORY, systemd.exec(5)) they lie there, and
 * a link in the state folder leads to them; else in the state folder.
 */
#ifndef WARMSIDE_DAEMON_PASSING_H
#define WARMSIDE_DAEMON_PASSING_H

/* Where the file of that name is to be written; malloc'ed, the caller frees. */
char *passing_path(const char *state, const char *name);

/* Makes the link in the state folder, or takes away one that leads elsewhere;
 * what cannot be done is logged. */
void passing_link(const char *state, const char *name);

#endif
