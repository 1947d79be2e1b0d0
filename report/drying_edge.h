/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drying -> when it comes below the band's lower edge, and below the lower limit, as it
 * was seen or as the fit foretells.  Pure.
 */
#ifndef WARMSIDE_REPORT_DRYING_EDGE_H
#define WARMSIDE_REPORT_DRYING_EDGE_H

#include "report/drying.h"

enum drying_edge { DRYING_BAND, DRYING_LIMIT };

/* What was looked at of the air inside: the misting's step, the first behind its top, and the
 * one behind the last. */
struct drying_steps {
	size_t misting, first, end;
};

/* Of a drying in which all but edge and limit are filled in. */
struct reached drying_reached(const struct drying_air *air, struct drying_steps steps,
			      const struct drying *drying, enum drying_edge edge);

#endif
