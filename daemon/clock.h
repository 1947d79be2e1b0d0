/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which time to believe.  The wall clock stamps what is kept, the monotonic
 * clock measures; when the two part company, this file decides.  Pure.
 *
 * A jump of the wall clock, ahead or back, is not believed until it has stood
 * for CLOCK_BELIEVE seconds; until then time goes on by the monotonic clock,
 * and so does the watch.  Ahead, because one archive update from the future
 * would lock the archive; back, because judging must not stand still until an
 * hour has come round again.  When a jump is believed, whoever keeps times
 * moves them by `shift`.
 */
#ifndef WARMSIDE_DAEMON_CLOCK_H
#define WARMSIDE_DAEMON_CLOCK_H

#include <stdbool.h>

enum {
	CLOCK_SLACK = 5,        /* s: small corrections are followed at once */
	CLOCK_BELIEVE = 600,    /* s a jump must stand */
	CLOCK_TELL = 600,       /* s behind the archives before somebody is told */
};

/* Zero-initialised; belongs to the loop. */
struct clock {
	bool begun;
	double offset;          /* wall minus monotonic, as believed */
	bool doubtful;          /* the wall clock says otherwise, ... */
	double other_offset;    /* ... namely this, ... */
	double doubt_since;     /* ... since then (monotonic) */
	double last;            /* the time given out last: never goes back but by a shift */
	double latest;          /* the latest time ever given out */
};

struct clock_now {
	double time;            /* s since the epoch */
	double shift;           /* s by which time has just jumped, mostly 0 */
};

/* Both in s; monotonic never goes back. */
struct clock_now clock_read(struct clock *clock, double wall, double monotonic);

#endif
