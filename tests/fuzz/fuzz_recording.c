/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any file as a recording, and its readings through the whole flow.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "daemon/flow.h"
#include "daemon/recording.h"

static const char text_of_conf[] =
	"bus \"b\" { port = \"/dev/null\"  speaks = \"lines\"  every = \"60s\"\n"
	"  line = \"{probe} {temperature} {humidity}\" }\n"
	"probe \"w\" { bus = \"b\" }\nprobe \"c\" { bus = \"b\"  humidity_correction = \"+2 %\" }\n"
	"enclosure \"E1\" {\n"
	"  warm_side { probe = \"w\"  temperature { day = \"27..31 C\"  limits = \"15..36 C\" } }\n"
	"  cool_side { probe = \"c\"\n"
	"    humidity { day = \"45..60 %\"  limits = \"25..85 %\"  patience = \"2h\" } } }\n";

struct followed {
	double first, last;     /* s since the epoch: of the rows */
	double end;             /* of the minutes */
};

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct followed *followed = context;

	fuzz_holds(enclosure == 0 && minute->end % 60 == 0);
	fuzz_holds((double)minute->end > followed->end && (double)minute->end >= followed->first &&
		   (double)minute->end <= followed->last + 60);
	followed->end = (double)minute->end;
	for (size_t i = 0; i < minute->count; i++) {
		const struct minute_cell *cell = &minute->cells[i];

		fuzz_holds(cell->ok >= 0 && cell->ok <= 1 + 1e-9 && cell->low >= 0 && cell->high >= 0 &&
			   cell->low + cell->high <= cell->ok + 1e-9 && cell->out >= 0);
		if (cell->ok > 0)
			fuzz_holds(cell->value >= -40.01 && cell->value <= 102.01);
	}
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	struct followed *followed = context;

	(void)message;
	fuzz_holds(record->time >= followed->first && record->time <= followed->last);
}

static void go_through(struct recording *recording, struct followed *followed,
		       const struct conf *conf)
{
	const struct flow_sink sink = { followed, take_minute, take_event };
	struct flow *flow = NULL;
	struct reading reading;
	enum row_kind kind;
	char *fault = NULL;

	while ((kind = recording_next(recording, &reading, &fault)) != ROW_END &&
	       kind != ROW_FAULT) {
		fuzz_holds(fuzz_is_instant(reading.time) && reading.time >= followed->last);
		if (!flow)
			followed->first = reading.time;
		followed->last = reading.time;
		if (!flow)
			flow = flow_new(conf, &sink, reading.time);
		if (kind == ROW_READING) {
			fuzz_holds(reading.probe < conf->probe_count);
			for (int q = 0; q < QUANTITIES; q++)
				fuzz_holds(reading.has[q] ? isfinite(reading.value[q])
							  : reading.value[q] == 0);
			flow_reading(flow, &reading);
		}
		flow_tick(flow, reading.time);
	}
	fuzz_holds((kind == ROW_FAULT) == (fault != NULL));
	if (fault)
		fuzz_holds(strstr(fault, "recording.csv:"));
	free(fault);
	if (flow)
		flow_finish(flow);
	flow_free(flow);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static const struct conf *conf;
	char *path = fuzz_file("recording.csv", data, size), *fault = NULL;
	struct followed followed = { .last = 0 };

	if (!conf)
		conf = fuzz_conf(text_of_conf);
	struct recording *recording = recording_open(path, conf, &fault);

	fuzz_holds((recording == NULL) == (fault != NULL));
	if (recording)
		go_through(recording, &followed, conf);
	else
		fuzz_holds(strstr(fault, "recording.csv"));
	recording_close(recording);
	free(fault);
	free(path);
	return 0;
}
