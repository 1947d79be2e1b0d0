/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The morning look as text; see digest.h.
 */
#include "report/digest.h"

#include <stdlib.h>

void digest_text(struct morning *morning, const struct request *request, FILE *out)
{
	char *headline;

	(void)request;
	for (size_t i = 0; i < morning->base.conf->enclosure_count; i++) {
		struct account account;

		morning_account(morning, i, &account);
		account_clear(&account);
	}
	morning_sort(morning);
	headline = morning_headline(morning);
	fprintf(out, "%s\n", headline);
	free(headline);
}
