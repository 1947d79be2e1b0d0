/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A configuration made by hand for tests that need no file: enclosures named
 * E1, E2, ... with warm_side temperature and cool_side temperature and
 * humidity, each side on a probe of its own, both on one bus.
 */
#ifndef WARMSIDE_TESTS_SMALL_CONF_H
#define WARMSIDE_TESTS_SMALL_CONF_H

#include "conf/model.h"

/* Bands: temperatures 27..31 by day and 23..29 by night, humidity 45..60 and
 * 45..65; day 08:00-20:00, changeover 90 min.  state may be NULL.  The caller
 * frees with small_conf_free. */
struct conf *small_conf(const char *state, size_t enclosures, double every);
void small_conf_free(struct conf *conf);

#endif
