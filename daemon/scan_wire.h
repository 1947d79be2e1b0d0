/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The steps of a scan on a port: sets it, sends a question, waits for what
 * comes of it.
 */
#ifndef WARMSIDE_DAEMON_SCAN_WIRE_H
#define WARMSIDE_DAEMON_SCAN_WIRE_H

#include "daemon/scan.h"
#include "daemon/wire.h"

enum scan_end {
	SCAN_GOES_ON,
	SCAN_COMPLETE,
	SCAN_STOPPED,           /* by the keeper */
	SCAN_NO_PORT,           /* it cannot be opened, or not with these settings */
};

/* Zero but for port and signals at the beginning. */
struct scan_wire {
	const char *port;       /* as a bus of the configuration has it */
	int signals;            /* of await_signals() */
	struct wire wire;
	struct modbus_request request; /* the last one */
	uint8_t in[2 * MODBUS_FRAME];
	size_t used;
	bool noise;             /* bytes that were no frame have been dropped from in */
};

/* Opens the port, or opens it anew, with what the pass says. */
enum scan_end scan_wire_set(struct scan_wire *on, const struct scan_pass *pass, char why[PORT_WHY]);

/* Sends the question and tells the scan what came of it, and of strangers. */
enum scan_end scan_wire_ask(struct scan_wire *on, struct scan *scan, const struct scan_step *step,
			    char why[PORT_WHY]);

/* Drops what comes for step->timeout, and tells the scan of whole frames. */
enum scan_end scan_wire_listen(struct scan_wire *on, struct scan *scan,
			       const struct scan_step *step, char why[PORT_WHY]);

/* Closes the port. */
void scan_wire_close(struct scan_wire *on);

#endif
