/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A scan of a real port; see scan_run.h.
 */
#include "daemon/scan_run.h"

static enum scan_end do_step(struct scan_wire *on, struct scan *scan, const struct scan_step *step,
			     const struct scan_sink *sink, char why[PORT_WHY])
{
	switch (step->act) {
	case SCAN_SET:
		sink->pass(sink->context, scan, step->pass);
		return scan_wire_set(on, step->pass, why);
	case SCAN_ASK:
		sink->progress(sink->context, scan);
		return scan_wire_ask(on, scan, step, why);
	case SCAN_LISTEN:
		return scan_wire_listen(on, scan, step, why);
	case SCAN_DONE:
		break;
	}
	return SCAN_COMPLETE;
}

enum scan_end scan_run(const char *port, struct scan *scan, const struct scan_sink *sink,
		       int signals, char why[PORT_WHY])
{
	struct scan_wire on = { .port = port, .signals = signals };
	enum scan_end end = SCAN_GOES_ON;
	struct scan_step step;
	size_t told = 0;

	while (end == SCAN_GOES_ON) {
		scan_next(scan, &step);
		while (told < scan->examined)
			sink->found(sink->context, scan, &scan->found[told++]);
		end = do_step(&on, scan, &step, sink, why);
	}
	scan_wire_close(&on);
	return end;
}
