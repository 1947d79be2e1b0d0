/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who is on a Modbus line: the sequence of questions to every address at
 * several baud rates, and what the answers come to.  Pure: says what is to be
 * done next and is told what came of it; daemon/scan_run moves the bytes and
 * knows the time.  Nothing but functions 03 and 04 is ever asked, which read.
 */
#ifndef WARMSIDE_DAEMON_SCAN_H
#define WARMSIDE_DAEMON_SCAN_H

#include "conf/model.h"
#include "daemon/layouts.h"
#include "daemon/modbus.h"

enum {
	SCAN_FIRST = 1,
	SCAN_LAST = 247,        /* MB-SL 2.2 */
	SCAN_PASSES = 24,       /* most passes of a plan */
	SCAN_NOISY = 8,         /* garbled answers at one setting, and none good: it is no use */
};

/* When a pass is made. */
enum scan_when {
	SCAN_ALWAYS,
	SCAN_IF_HEARD,          /* somebody is there at this baud and parity */
	SCAN_IF_NOBODY,         /* nobody was found at all so far */
};

/* One question to each address that is not known yet at this setting. */
struct scan_pass {
	int baud;
	enum parity parity;
	int stop_bits;
	int block;              /* which is asked: LAYOUT_INPUT or LAYOUT_HOLDING */
	enum scan_when when;
};

struct scan_plan {
	struct scan_pass passes[SCAN_PASSES];
	size_t count;
	bool one_setting;       /* once somebody is found, other bauds and parities are left out */
};

/* A bus of the configuration: its own setting first, then the common bauds
 * with its parity. */
void scan_plan_bus(struct scan_plan *plan, const struct bus *bus);

/* A port nobody has described: the common bauds without parity; then, when
 * nobody was found, even parity at the two bauds every device must have. */
void scan_plan_port(struct scan_plan *plan);

enum scan_outcome {
	SCAN_SILENT,            /* nothing came before the time-out */
	SCAN_READ,              /* the registers asked for */
	SCAN_REFUSED,           /* an exception: somebody is there, but not with that register */
	SCAN_GARBLED,           /* bytes, but no answer among them */
};

/* An address where somebody is. */
struct scan_found {
	int address;
	int baud;
	enum parity parity;
	int stop_bits;
	bool garbled;           /* answered twice, and never whole: nothing more is known */
	bool late;              /* heard after its time-out */
	bool again;             /* found at another setting before: the same one, where an
				 * adapter heeds no baud; nothing more is asked of it */
	bool done;              /* all questions are asked: fits and refused are valid */
	bool asked[LAYOUT_BLOCKS];
	struct layout_raw raw[LAYOUT_BLOCKS];
	size_t refused;         /* questions it answered by an exception */
	struct layout_fit fits[LAYOUT_FITS];
	size_t fit_count;
};

struct scan_figures {
	size_t asked;           /* requests sent */
	size_t silent;          /* those that nobody answered in time */
	size_t garbled;
	double timeouts;        /* s granted to the silent ones, beyond the wire's time */
};

enum scan_act {
	SCAN_SET,               /* set the port as `pass` says */
	SCAN_ASK,               /* send `request`, wait for its answer for `timeout` */
	SCAN_LISTEN,            /* drop what comes for `timeout`, but tell of frames */
	SCAN_DONE,
};

struct scan_step {
	enum scan_act act;
	const struct scan_pass *pass;
	struct modbus_request request;
	double timeout;         /* s; SCAN_ASK: beyond the time on the wire */
};

/* Zero but for the plan at the beginning. */
struct scan {
	struct scan_plan plan;
	size_t pass;            /* index into plan.passes */
	bool set;               /* this pass has begun */
	bool asked_all;         /* a pass has been through with this setting */
	bool set_before;        /* a pass has been set; last_set is valid */
	size_t last_set;
	int address;            /* whom the pass asks, or asked last */
	bool again;             /* garbled: it is to be asked once more */
	bool listened;          /* the pass is at its end and late answers are waited for */
	double rest;            /* s to listen before the next question; 0: none */
	bool examining;         /* `found[examined]` is asked about block `block` */
	int block;
	bool asked_of_found;    /* whom the last question went to */
	size_t examined;        /* found[] before this one are done */
	size_t noise;           /* garbled at this setting */
	struct scan_found *found;
	size_t found_count;
	struct scan_figures figures;
};

void scan_free(struct scan *scan);

/* What to do next. */
void scan_next(struct scan *scan, struct scan_step *step);

/* What came of the last SCAN_ASK; answer is needed for SCAN_READ only. */
void scan_told(struct scan *scan, const struct scan_step *step, enum scan_outcome outcome,
	       const struct modbus_answer *answer);

/* A good frame of an address that was not asked just now: a late answer.  Of one that
 * has not been asked yet at this setting it is none. */
void scan_overheard(struct scan *scan, int address);

/* Found at this setting, not counting what is only garbled, and whom
 * another setting had before. */
size_t scan_count(const struct scan *scan, int baud, enum parity parity);

/* s from here on to the end of the plan, if nobody else is found. */
double scan_time_left(const struct scan *scan);

#endif
