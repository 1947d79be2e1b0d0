/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which time to believe.  The wall clock stamps what is kept, the monotonic
 * clock measures; when the two part company, this file decides.  Pure.
 *
 * A leap ahead is not believed until it has stood for CLOCK_BELIEVE seconds,
 * because one archive update from the future would lock the archive.  A step
 * back is believed at once; until it has caught up with the latest time
 * given out, no time is usable: what is archived cannot be archived again.
 */
#ifndef WARMSIDE_DAEMON_CLOCK_H
#define WARMSIDE_DAEMON_CLOCK_H

#include <stdbool.h>

enum {
	CLOCK_SLACK = 5,        /* s: small corrections are followed at once */
	CLOCK_BELIEVE = 600,    /* s a leap ahead must stand */
	CLOCK_TELL = 600,       /* s behind before somebody is told */
};

/* Zero-initialised; belongs to the loop. */
struct clock {
	bool begun;
	double offset;          /* wall minus monotonic, as believed */
	bool leaping;
	double leap_offset, leap_since;
	double latest;          /* the latest usable time given out */
	bool behind;            /* no time is usable just now */
};

struct clock_now {
	double time;            /* s since the epoch; the latest one when unusable */
	bool usable;
};

/* Both in s; monotonic never goes back. */
struct clock_now clock_read(struct clock *clock, double wall, double monotonic);

#endif
