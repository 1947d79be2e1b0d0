/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages as lines; see tell_print.h.
 */
#include "daemon/tell_print.h"

#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"

/* "phone, mail": those who would be told; malloc'ed. */
static char *readers(const struct gathering *gathering, const struct conf *conf, size_t flood)
{
	char *text = must_copy("");

	for (size_t w = 0; w < conf->webhook_count; w++) {
		struct outgoing outgoing;

		if (!gathering_write(gathering, conf, w, flood, &outgoing))
			continue;
		outgoing_clear(&outgoing);
		char *more = must_print("%s%s%s", text, *text ? ", " : "", conf->webhooks[w].name);

		free(text);
		text = more;
	}
	return text;
}

void tell_print(const struct gathering *gathering, const struct conf *conf, size_t flood,
		double now)
{
	char time[MEASURE_TEXT];
	char *title = gathering_title(gathering, conf, flood);
	char *whom = readers(gathering, conf, flood);

	printf("%s  would send: %s  (to %s)\n", show_instant_local(now, time), title,
	       *whom ? whom : "no webhook");
	free(whom);
	free(title);
}
