/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any text as standing.json: a flow begins with it, goes on for some minutes, and what it keeps
 * then is taken by another.  Input: the text, a form feed, the words of the keeper's requests
 * and readings that follow.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/flow_tell.h"
#include "daemon/standing.h"

enum { BEGIN = 1767614400, MINUTES = 24 };

static const char text_of_conf[] =
	"bus \"b\" { port = \"/dev/null\"  speaks = \"lines\"  every = \"60s\"\n"
	"  line = \"{probe} {temperature} {humidity}\" }\n"
	"probe \"w\" { bus = \"b\" }\nprobe \"c\" { bus = \"b\" }\nprobe \"r\" { bus = \"b\" }\n"
	"webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\"  body = \"text\" }\n"
	"enclosure \"E1\" {\n"
	"  warm_side { probe = \"w\"  temperature { day = \"27..31 C\"  limits = \"15..36 C\" } }\n"
	"  cool_side { probe = \"c\"\n"
	"    temperature { day = \"23..27 C\"  limits = \"15..36 C\"  daily = \"4h\" }\n"
	"    humidity { day = \"45..60 %\"  limits = \"25..85 %\"  patience = \"2h\" } }\n"
	"  gradient = \"2 C\"  misting_due = \"6h\" }\n"
	"room { probe = \"r\"  temperature { limits = \"16..32 C\" } }\n";

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	(void)context;
	(void)enclosure;
	fuzz_holds(minute->end > BEGIN - 86400.0 && minute->end <= BEGIN + 86400.0);
	for (size_t i = 0; i < minute->count; i++) {
		const struct minute_cell *cell = &minute->cells[i];

		fuzz_holds(cell->ok >= 0 && cell->ok <= 1 + 1e-9 && cell->low >= 0 && cell->high >= 0 &&
			   cell->low + cell->high <= cell->ok + 1e-9 && isfinite(cell->out));
	}
}

/* What is told can be written into the log, and put into words. */
static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	char *line = alert_to_line(record);
	struct alert_record back;

	(void)context;
	fuzz_holds(line && alert_from_line(line, &back) && back.event == record->event);
	fuzz_holds(message->conf);
	free(line);
}

static const struct flow_sink sink = { NULL, take_minute, take_event };

static struct flow *begin_with(const struct conf *conf, json_t *whole, bool *taken)
{
	struct flow *flow = flow_new(conf, &sink, BEGIN);

	*taken = standing_restore(flow, whole);
	return flow;
}

static void go_on(struct flow *flow, struct fuzz_bytes in)
{
	for (int minute = 1; minute <= MINUTES; minute++) {
		double now = BEGIN + 60.0 * minute;
		uint8_t what = fuzz_byte(&in);

		for (size_t probe = 0; what & 1 && probe < flow->conf->probe_count; probe++) {
			struct reading reading = { .probe = probe, .time = now,
						   .has = { true, (what & 2) != 0 } };

			reading.value[TEMPERATURE] = 20 + what % 16;
			reading.value[HUMIDITY] = what % 101;
			flow_reading(flow, &reading);
		}
		if (what == 0x80 || what == 0x82) {
			const struct asking asking = { .what = what & 2 ? ASKED_SHELVE : ASKED_ACK,
						       .time = now, .enclosure = "E1",
						       .seconds = 600 };

			free(flow_ask(flow, &asking));
		}
		flow_tick(flow, now);
	}
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct conf *conf;
	struct fuzz_bytes in = { data, size };
	char *text = fuzz_part(&in);
	bool taken, again;

	if (!conf)
		conf = fuzz_conf(text_of_conf);
	json_t *whole = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
	struct flow *flow = begin_with(conf, whole, &taken);

	fuzz_holds(taken == json_is_array(json_object_get(whole, "standing")));
	go_on(flow, in);
	json_t *kept = standing_json(flow);
	char *words = json_dumps(kept, 0);

	fuzz_holds(words); /* no number that JSON does not have */
	json_t *back = json_loads(words, JSON_REJECT_DUPLICATES, NULL);
	struct flow *next = begin_with(conf, back, &again);

	fuzz_holds(again);
	flow_free(next);
	flow_free(flow);
	free(words);
	json_decref(back);
	json_decref(kept);
	json_decref(whole);
	free(text);
	return 0;
}
