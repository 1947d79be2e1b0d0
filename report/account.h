/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The account of one enclosure over a window: everything that page, digest
 * and graph say of it, so that they all say the same.
 */
#ifndef WARMSIDE_REPORT_ACCOUNT_H
#define WARMSIDE_REPORT_ACCOUNT_H

#include <stdbool.h>
#include <stddef.h>

#include "report/alerts.h"
#include "report/earlier.h"
#include "report/episode.h"
#include "report/excursions.h"
#include "report/mistings.h"
#include "report/ribbon.h"
#include "report/rows.h"
#include "report/totals.h"

/* s: a series out of its band for less than SHORT_SECONDS in all is not told of, in a short
 * window for less than a tenth of it;
 * one without a reading for SILENT_SECONDS, or three times its `every`, is silent. */
enum { SHORT_SECONDS = 300, SILENT_SECONDS = 600, RECENT_SECONDS = 86400 };

/* What all accounts of one report have in common. */
struct account_base {
	const struct conf *conf;
	struct window window;
	double until;           /* what stands is told as of then: the window's end, or now when
				 * the window reaches as near to it as whole minutes can, or
				 * beyond it */
	const struct band_list *bands;
	const struct alerts *alerts; /* of the window, and up to `until` */
};

/* The lowest or highest value, and when it was. */
struct extreme {
	double value;           /* °C or % */
	double at;              /* s since the epoch: the middle of its row */
};

struct series_account {
	struct series series;
	const struct rule *rule; /* in force at the end of what is told; points into the
				 * configuration, or at: */
	struct rule room;
	const struct series_rows *rows; /* points into the account's record */
	struct ribbon ribbon;
	bool has_band;          /* one was in force at some time in the window */
	struct totals totals;
	struct extreme least, most; /* of minute means; valid when totals.known */
	struct extreme latest;  /* the last row with a reading; valid when totals.known */
	struct excursions excursions; /* none without a band */
	struct episode episode; /* whether it is out at the end of what is known */
	double strayed[SIDES];  /* s below and above the band, or the limits when there was none */
	double depth[SIDES];    /* how far at most, in widths of what it was out of */
	double beyond[SIDES];   /* s below and above the limits */
	double lately[SIDES];   /* of those, in the window's last RECENT_SECONDS */
	struct extreme farthest[SIDES]; /* out of the band, or of the limits where there is none;
				 * its value is NaN when it never was */
	struct extreme danger[SIDES]; /* beyond the limits in the last RECENT_SECONDS; likewise */
	bool beyond_now[SIDES]; /* at the end of what is known */
	struct mistings mistings; /* of an enclosure's humidity */
	struct earlier earlier;
	double moved;           /* °C or %: how far the middle of its band moved since then */
	bool silent;            /* no reading at the window's end, or now if that is still to
				 * come; or none at all */
	double silent_since;    /* s since the epoch; the window's begin when never heard */
};

/* What an enclosure asks of its keeper, worst first. */
enum need {
	NEED_LOOK,              /* somebody has to look at it: see account_make */
	NEED_OUT,               /* it is out of its band, and that is still tolerable */
	NEED_STRAYED,           /* it was out for a while, and that is over */
	NEED_ASIDE,             /* it would be one of these, but is shelved or out of service */
	NEED_NOTHING,
	NEED_UNTOLD,            /* no band: nothing can be said */
};

/* Not to be copied: it points into itself. */
struct account {
	const struct enclosure *enclosure;
	struct window window;
	struct record record;   /* its `trouble` says when the archive could not be read */
	struct series_account series[MAX_SERIES];
	size_t count;
	char *seasons;          /* "season brumation": in force in the window; NULL when none */
	double known;           /* 0..1 of the time of all its series; 0 without any */
	const struct alert_record *shelved; /* it is shelved; else NULL */
	const struct alert_life **standing; /* its alerts that stood */
	size_t standing_count;
	bool urgent;            /* in danger at the end of what is known, unwatched, or with an
				 * alert of priority `now` */
	bool endangered;        /* it was beyond its limits in the window, but not lately */
	bool unsafe;            /* a series counts as beyond its limits, see below */
	enum need need;
	double weight;          /* orders enclosures of one need: distance out in widths of the
				 * band x h, over all series */
};

/* Reads and reckons all of it.  NEED_LOOK, unless the enclosure is out of
 * service or shelved: an alert stood; or a series was unsafe; or a series is out of its band at the end of
 * what is known and has used up half its patience; or one is silent.
 * NEED_STRAYED: a series was out for SHORT_SECONDS or more in all, or beyond its limits as above, but
 * longer ago.
 * `earlier` is left empty unless with_earlier.  The caller frees with
 * account_clear; the base and what it points to must live on until then. */
void account_make(const struct account_base *base, const struct enclosure *enclosure,
		  bool with_earlier, struct account *out);

/* The same of a record that has been read already, and is taken over.  Pure. */
void account_reckon(const struct account_base *base, const struct enclosure *enclosure,
		    struct record record, struct account *out);
void account_clear(struct account *account);

/* What a series was like before, and how far its band moved since; its ribbon is there. */
void series_compare(struct series_account *series, struct earlier earlier, struct window window);

/* Whether it is out at the end of what is known, and has been for half its patience. */
bool series_wears_out(const struct series_account *series);

/* SHORT_SECONDS, or less in a short window. */
double account_short(struct window window);

/* Whether it has lately been beyond its limits on that side: a temperature at all, a humidity
 * for limits_patience in all. */
bool series_unsafe(const struct series_account *series, enum side side);

/* ---- complaint.c, findings.c: an account in words; each is malloc'ed, the caller frees - */

/* What is worst of it, without the enclosure's name: "cool side dangerously dry, 6 % at
 * 15:23", "0.4 °C too cold since 04:20", "too dry for 6 h 10 min"; when brief without place and
 * reading: "dangerously dry".  NULL when it neither needs a look nor strayed. */
char *account_complaint(const struct account *account, bool brief, enum units units);

/* Of some of its series (all when wanted is NULL) in a sentence: "Cool side humidity below its
 * band for 3 h 20 min, lowest 38 %; ...", "In its bands all the time". */
char *account_finding(const struct account *account, const bool wanted[PLACES],
		      enum units units);

/* The same of one series: "Below its band for 3 h 20 min, lowest 38 %". */
char *series_finding(const struct account *account, const struct series_account *series,
		     enum units units);

/* "0.8 °C warmer than in the same hours of the 7 days before, 2 h 10 min more
 * below its band"; NULL when there is nothing to compare with or nothing changed but
 * what its band moved by.  Of what changed more: "6.0 °C cooler (its band moved by 2.0 °C)". */
char *series_change(const struct series_account *series, struct window window,
		    enum units units);

#endif
