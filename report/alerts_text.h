/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alert log on paper: what stands, what happened, the figures.
 */
#ifndef WARMSIDE_REPORT_ALERTS_TEXT_H
#define WARMSIDE_REPORT_ALERTS_TEXT_H

#include "report/alerts_figures.h"
#include "report/json.h"
#include "report/request.h"

/* All of it, in the configured units and local time, on the request's terminal. */
void alerts_print(const struct request *request, const struct alerts *alerts,
		  const struct alert_figures *figures);

/* "08:00", with its date where it is another day than that of `beside`;
 * malloc'ed, the caller frees. */
char *time_text(double time, double beside);

/* ---- alerts_summary.c ---- */

/* The figures in sentences, after an empty line; nothing when there are none. */
void figures_print(const struct request *request, const struct alert_figures *figures);

/* A new reference. */
json_t *figures_json(const struct alerts *alerts, const struct alert_figures *figures,
		     double now);

#endif
