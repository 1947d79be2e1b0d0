/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning look as text, for mail or terminal, and as JSON.
 */
#ifndef WARMSIDE_REPORT_DIGEST_H
#define WARMSIDE_REPORT_DIGEST_H

#include <stdio.h>

#include "report/morning.h"

/* Both make the accounts themselves. */
void digest_text(struct morning *morning, const struct terminal *terminal);
void digest_json(struct morning *morning, FILE *out);

#endif
