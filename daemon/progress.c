/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How far a search is; see progress.h.
 */
#include "daemon/progress.h"

#include <math.h>
#include <stdio.h>
#include <unistd.h>

#include "conf/measure.h"
#include "daemon/found.h"

enum { WIDTH = 78 };            /* characters of the line that is written over */

static bool on_terminal(void)
{
	return isatty(STDERR_FILENO);
}

void progress_clear(struct progress *progress)
{
	if (progress->shown)
		fprintf(stderr, "\r%*s\r", WIDTH, "");
	progress->shown = false;
}

void progress_listening(struct progress *progress, const char *port)
{
	progress_clear(progress);
	fprintf(stderr, "%s: listening for a board that prints lines%s", port,
		on_terminal() ? "" : "\n");
	progress->shown = on_terminal();
}

void progress_pass(struct progress *progress, const struct scan_pass *pass)
{
	progress_clear(progress);
	if (!on_terminal())
		fprintf(stderr, "%d baud, parity %s: asking addresses 1 to %d by function %02d\n",
			pass->baud, found_parity(pass->parity), SCAN_LAST,
			layout_blocks[pass->block].function);
}

void progress_show(struct progress *progress, const struct scan *scan)
{
	const struct scan_pass *pass = &scan->plan.passes[scan->last_set];
	char left[MEASURE_TEXT], text[WIDTH + 1];

	if (!on_terminal())
		return;
	snprintf(text, sizeof text, "%d baud: address %d of %d, %zu found, at most %s more (Ctrl-C ends)",
		 pass->baud, scan->address, SCAN_LAST, scan->examined,
		 show_duration(ceil(scan_time_left(scan) / 60) * 60, left));
	fprintf(stderr, "\r%-*s", WIDTH, text);
	progress->shown = true;
}
