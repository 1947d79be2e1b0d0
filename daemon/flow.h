/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The whole way of a reading: gate, correction, enclosure; from there into
 * minutes for the archive and through the judge into alerts.  The one file
 * that knows all stages; no I/O, and the time is an argument.
 */
#ifndef WARMSIDE_DAEMON_FLOW_H
#define WARMSIDE_DAEMON_FLOW_H

#include "conf/alertlog.h"
#include "conf/asking.h"
#include "daemon/live.h"
#include "daemon/message.h"

/* Where the chain's results go. */
struct flow_sink {
	void *context;
	/* A closed minute of conf->enclosures[enclosure], in order of time. */
	void (*minute)(void *context, size_t enclosure, const struct closed_minute *minute);
	/* An event for the alert log; record->message is left to the receiver. */
	void (*event)(void *context, struct alert_record *record,
		      const struct message_context *message);
	/* A value that counts for the minutes of that enclosure; NULL: nobody asks. */
	void (*sample)(void *context, size_t enclosure, struct series series,
		       struct sample sample);
};

/* What is known of a bus's port; of a recording's, nothing. */
struct port_state {
	bool known;
	char *closed;           /* why it is; NULL: it is open */
};

struct flow {
	const struct conf *conf;
	struct flow_sink sink;
	struct daypart_cache cache;
	double now;             /* the latest time it was told */
	struct counters *buses;            /* as conf->buses: what no probe did */
	struct port_state *ports;          /* as conf->buses */
	struct live_probe *probes;         /* as conf->probes */
	struct live_enclosure *enclosures; /* as conf->enclosures */
	struct live_seldom *seldom;        /* likewise */
	struct live_series *series;        /* those of all enclosures, in their order */
	size_t series_count;
	struct live_user *users;           /* who reads a probe, probe by probe */
	struct alert *webhooks;            /* as conf->webhooks: trouble with one */
	struct alert troubles[CONDITIONS]; /* the tool's own: CLOCK, ARCHIVE, DISK, UNTESTED, ... */
	struct matter matters[QUANTITIES][SIDES];
	bool standing;                     /* something may stand: false spares a look */
	double tested;                     /* when the last test alert was made, or we began */
};

/* A chain that begins at `now`; the caller frees it with flow_free.  conf and
 * what sink.context points to must outlive it. */
struct flow *flow_new(const struct conf *conf, const struct flow_sink *sink, double now);
void flow_free(struct flow *flow);

/* Before the first reading: a value that counted for the minutes of an
 * enclosure before a sudden end.  It goes into the minutes alone, since all
 * else is restored; one the configuration has no place for, or of a time to
 * come, is passed over. */
void flow_resume(struct flow *flow, const char *enclosure, struct series series,
		 struct sample sample);

/* One answer of a probe: into everything that depends on it. */
void flow_reading(struct flow *flow, const struct reading *reading);

/* An asking, or a failure, of a probe: counted.  A failure of NO_PROBE is
 * the bus's own. */
void flow_asked(struct flow *flow, size_t probe);
void flow_failed(struct flow *flow, size_t bus, size_t probe, enum cause cause);

/* A bus's port is open (why is NULL), or closed for that reason. */
void flow_port(struct flow *flow, size_t bus, const char *why);

/* Why a probe gives no readings, as far as that can be said; malloc'ed.  NULL
 * while it gives some, or when nothing is known of its port. */
char *flow_diagnose(const struct flow *flow, size_t probe);

/* Time has passed: lets held values go, finds who is silent, closes minutes. */
void flow_tick(struct flow *flow, double now);

/* An orderly end: closes what minutes are open, partial ones too. */
void flow_finish(struct flow *flow);

/* Goes on under a new configuration: what stands, strays and is counted is
 * carried over by name; what the new one no longer knows is cleared. */
void flow_reload(struct flow *flow, const struct conf *conf);

/* The clock jumped by so many s (and is believed): every time that is
 * remembered moves with it. */
void flow_shift(struct flow *flow, double by);

/* What enclosures have been found to be like, the last record with a law of each; copied.
 * Of an enclosure without one nothing is foretold. */
void flow_laws(struct flow *flow, const struct drying_record *records, size_t count);

/* The tool's own trouble (CLOCK, ARCHIVE, DISK, UNTESTED, UNCALIBRATED) lasts, or is
 * over. */
void flow_trouble(struct flow *flow, enum condition condition, bool on, double since);

/* A webhook takes nothing, or takes messages again; told by the others. */
void flow_webhook_trouble(struct flow *flow, size_t webhook, bool on, double since);

/* An archive was set aside: told once, nothing stands. */
void flow_archive_damaged(struct flow *flow, size_t enclosure);

/* What a keeper asks of the watch: to hold an enclosure's alerts, to note what
 * stands as seen, to make a test.  asking->time is when it was asked, by the
 * flow's time.  A sentence (malloc'ed) when it cannot be done, else NULL. */
char *flow_ask(struct flow *flow, const struct asking *asking);

/* Silence after which a series is silent, s. */
double silent_after(double every);

/* The live counterpart of an enclosure; NULL when none has that name. */
struct live_enclosure *flow_enclosure(struct flow *flow, const char *name);

/* The rule in force for a series at an instant; `room` may be where it is. */
const struct rule *flow_rule(struct flow *flow, const struct live_series *series, double time,
			     struct rule *room);

/* The band in force for a series at an instant; false when it has none. */
bool flow_band(struct flow *flow, const struct live_series *series, double time,
	       struct range *band);

/* How a series stands now, as people read it: "in band", "straying",
 * "unsafe", "silent", "frozen"; NULL when there is nothing to judge it by. */
const char *flow_state(struct flow *flow, const struct live_series *series);

#endif
