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
#include "report/excursions.h"
#include "report/mistings.h"
#include "report/ribbon.h"
#include "report/rows.h"
#include "report/totals.h"

/* What all accounts of one report have in common. */
struct account_base {
	const struct conf *conf;
	struct window window;
	const struct band_list *bands;
	const struct alerts *alerts; /* of the window */
};

/* The lowest or highest value, and when it was. */
struct extreme {
	double value;           /* °C or % */
	double at;              /* s since the epoch: the middle of its row */
};

struct series_account {
	struct series series;
	const struct rule *rule; /* as configured now; points into the configuration */
	const struct series_rows *rows; /* points into the account's record */
	struct ribbon ribbon;
	struct totals totals;
	struct extreme least, most; /* of minute means; valid when totals.known */
	struct excursions excursions;
	struct mistings mistings; /* of a humidity */
	struct earlier earlier;
	bool silent;            /* nothing is known of it at the end of what is archived */
	double silent_since;    /* s since the epoch; the window's begin when never known */
};

/* What an enclosure asks of its keeper, worst first. */
enum need {
	NEED_LOOK,              /* somebody has to look at it: see account_make */
	NEED_STRAYED,           /* it was out for a while, and that is over or still tolerable */
	NEED_NOTHING,
	NEED_UNTOLD,            /* no reading in the window, or no band: nothing can be said */
	NEEDS
};

struct account {
	const struct enclosure *enclosure;
	struct window window;
	struct record record;   /* its `trouble` says when the archive could not be read */
	struct series_account series[MAX_SERIES];
	size_t count;
	double known;           /* 0..1 of the time of all its series; 0 without any */
	bool out_of_service;
	const struct alert_record *shelved; /* it is shelved now; else NULL */
	const struct alert_life **standing; /* its alerts that stood at the window's end */
	size_t standing_count;
	enum need need;
	double weight;          /* orders enclosures of one need: distance out in widths of the
				 * band x h, over all series */
};

/* Reads and reckons all of it.  NEED_LOOK, unless it is out of service or
 * shelved: an alert stood at the window's end; or a series was beyond its limits in
 * the window; or one is out of its band at the end of what is known and has
 * used up half its patience; or one has been silent for SILENT_SECONDS.
 * NEED_STRAYED: a series was out for SHORT_SECONDS or more in all.
 * `earlier` is left empty unless with_earlier.  The caller frees with
 * account_clear; base and configuration must live on until then. */
enum { SHORT_SECONDS = 300, SILENT_SECONDS = 600 };

void account_make(const struct account_base *base, const struct enclosure *enclosure,
		  bool with_earlier, struct account *out);
void account_clear(struct account *account);

/* ---- findings.c: an account in words; each is malloc'ed, the caller frees - */

/* What is worst of it, without the enclosure's name, as it stands in the head
 * of page and digest: "too dry for 6 h 10 min, lowest 38 %", "0.4 °C too cold since 04:20";
 * NULL when it neither needs a look nor strayed. */
char *account_complaint(const struct account *account, enum units units);

/* All that is to be said of it in a sentence: "Cool side humidity below its band
 * for 3 h 20 min, lowest 38 %; ...", "In its bands all the time". */
char *account_finding(const struct account *account, enum units units);

/* The same of one series, for whoever cannot see its graph. */
char *series_finding(const struct series_account *series, struct window window,
		     enum units units);

/* "0.8 °C warmer than the same hours of the 7 days before; 2 h 10 min more below
 * its band"; NULL when there is nothing to compare with or nothing changed. */
char *series_change(const struct series_account *series, struct window window,
		    enum units units);

#endif
