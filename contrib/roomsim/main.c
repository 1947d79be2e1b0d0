/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * roomsim: a simulated reptile room, to try and to measure the programs
 * without animals, probes or days of waiting.
 */
#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "contrib/roomsim/faults.h"
#include "contrib/roomsim/record.h"
#include "contrib/roomsim/serve.h"
#include "contrib/roomsim/writeconf.h"

static const char usage[] =
	"usage: roomsim record [--days 14] [--every 60] [--start EPOCH] [--calm] [--life]\n"
	"                      [--faults COUNT] [--list FILE] [common]\n"
	"       roomsim conf --rack LINK --board LINK --state DIR [--webhook URL]\n"
	"                    [--every SECONDS] [common]\n"
	"       roomsim serve --rack LINK --board LINK [--every SECONDS] [common]\n"
	"\n"
	"  record   a recording on standard output: CSV, each probe once every --every\n"
	"           seconds; with a few mishaps of its own unless --calm.  --life adds\n"
	"           cleanings, open doors, late mistings, sprayed probes, probes that\n"
	"           scatter by 0.2 C and 1.5 %, missed and garbled readings.  --faults adds\n"
	"           so many real faults by chance; all faults and mistings go to the JSON\n"
	"           of --list\n"
	"  conf     the configuration that fits, on standard output\n"
	"  serve    the room in real time: Modbus slaves behind LINK of the rack, lines\n"
	"           behind LINK of the board, until it is ended\n"
	"\n"
	"common:  --seed N          another seed, other weather and noise (default 1)\n"
	"         --enclosures N    how many; above 12 with copies (default 12)\n"
	"         --fault KIND:NAME:FROM:DURATION\n"
	"                           record and serve; may be repeated.  KIND: silent,\n"
	"                           frozen, chattering, corrupt (serve only), stuck-heater,\n"
	"                           dead-heater, drift, no-gradient, door-open, power-cut,\n"
	"                           missed-misting, dry-air (of room).  NAME: an enclosure, a\n"
	"                           probe, rack, board, room or all.  FROM counts from the beginning and may lie\n"
	"                           before it: stuck-heater:M1:-2h:1d\n";

static const time_t NEW_YEAR = 1767225600;      /* 2026-01-01T00:00:00Z */

enum { MOST_ENCLOSURES = 5000, MOST_FAULTS = 64, MOST_BY_CHANCE = 1000 };

struct options {
	double days, start;
	int every;              /* 0: unsaid */
	long seed, enclosures, by_chance;
	bool calm, life;
	const char *rack, *board, *state, *webhook, *list;
	const char *faults[MOST_FAULTS];
	size_t fault_count;
};

/* One sentence on standard error; the exit status that goes with it. */
__attribute__((format(printf, 1, 2))) static int complain(const char *format, ...)
{
	va_list arguments;

	fputs("roomsim: ", stderr);
	va_start(arguments, format);
	vfprintf(stderr, format, arguments);
	va_end(arguments);
	fputc('\n', stderr);
	return 2;
}

static bool number(const char *text, double low, double high, double *out)
{
	char *end;
	double value = strtod(text, &end);

	if (end == text || *end || !(value >= low && value <= high)) {
		complain("'%s' is no number from %.15g to %.15g", text, low, high);
		return false;
	}
	*out = value;
	return true;
}

static bool whole(const char *text, long low, long high, long *out)
{
	double value;

	if (!number(text, (double)low, (double)high, &value))
		return false;
	if (value != floor(value)) {
		complain("'%s' is no whole number", text);
		return false;
	}
	*out = (long)value;
	return true;
}

static bool add_fault(struct options *options, const char *text)
{
	if (options->fault_count == MOST_FAULTS) {
		complain("'%s' is one fault too many; %d are allowed", text, MOST_FAULTS);
		return false;
	}
	options->faults[options->fault_count++] = text;
	return true;
}

/* One option; false after a sentence on standard error. */
static bool take(struct options *options, int letter, const char *value)
{
	long every;

	switch (letter) {
	case 'r':
		options->rack = value;
		return true;
	case 'b':
		options->board = value;
		return true;
	case 's':
		options->state = value;
		return true;
	case 'w':
		options->webhook = value;
		return true;
	case 'l':
		options->list = value;
		return true;
	case 'c':
		return options->calm = true;
	case 'L':
		return options->life = true;
	case 'F':
		return whole(value, 0, MOST_BY_CHANCE, &options->by_chance);
	case 'd':
		return number(value, 0, 36525, &options->days);
	case 't':
		return number(value, 0, 253402300799.0, &options->start);
	case 'e':
		if (!whole(value, 1, 86400, &every))
			return false;
		options->every = (int)every;
		return true;
	case 'n':
		return whole(value, 0, 1L << 52, &options->seed);
	case 'N':
		return whole(value, 1, MOST_ENCLOSURES, &options->enclosures);
	case 'f':
		return add_fault(options, value);
	default:
		return false; /* getopt has said it */
	}
}

static bool read_options(int argc, char **argv, struct options *options)
{
	static const struct option longs[] = {
		{ "rack", required_argument, NULL, 'r' },
		{ "board", required_argument, NULL, 'b' },
		{ "state", required_argument, NULL, 's' },
		{ "webhook", required_argument, NULL, 'w' },
		{ "list", required_argument, NULL, 'l' },
		{ "calm", no_argument, NULL, 'c' },
		{ "life", no_argument, NULL, 'L' },
		{ "faults", required_argument, NULL, 'F' },
		{ "days", required_argument, NULL, 'd' },
		{ "start", required_argument, NULL, 't' },
		{ "every", required_argument, NULL, 'e' },
		{ "seed", required_argument, NULL, 'n' },
		{ "enclosures", required_argument, NULL, 'N' },
		{ "fault", required_argument, NULL, 'f' },
		{ 0 },
	};
	int letter;

	while ((letter = getopt_long(argc, argv, "", longs, NULL)) != -1)
		if (!take(options, letter, optarg))
			return false;
	if (optind < argc)
		complain("'%s' belongs to no option", argv[optind]);
	return optind == argc;
}

/* The mishaps asked for, with their times counted from start. */
static bool read_faults(const struct options *options, double start, struct events *events)
{
	char why[256];

	for (size_t i = 0; i < options->fault_count; i++)
		if (!event_parse(events, options->faults[i], start, why, sizeof(why))) {
			events_free(events);
			complain("%s", why);
			return false;
		}
	return true;
}

/* Writes and closes the list of what happened; it may be NULL.  False after a
 * sentence. */
static bool write_list(const struct options *options, const struct world *world, FILE *list)
{
	bool good = !list || list_happenings(world, options->start, list);

	if (list && fclose(list) != 0)
		good = false;
	if (!good)
		complain("%s cannot be written: %s", options->list, strerror(errno));
	return good;
}

static int run_record(const struct options *options, struct world *world)
{
	double end = options->start + options->days * 86400;
	struct events events = { 0 };
	FILE *list = NULL;
	bool recorded;

	if (!read_faults(options, options->start, &events))
		return 2;
	for (size_t i = 0; i < events.count; i++)
		if (events.list[i].mishap == CORRUPT_FRAMES) {
			events_free(&events);
			return complain("a recording has no frames to corrupt; use serve, or silent");
		}
	if (!options->calm)
		events_usual(&events, options->start);
	if (options->by_chance > 0)
		faults_by_chance(&events, (uint64_t)options->seed, options->start, options->days,
				 (size_t)options->by_chance);
	if (options->list && !(list = fopen(options->list, "w"))) {
		events_free(&events);
		complain("%s cannot be written: %s", options->list, strerror(errno));
		return 1;
	}
	world_begin(world, options->start, options->life, events);
	recorded = record(world, options->start, end, options->every ? options->every : 60, stdout);
	if (!recorded)
		complain("cannot write the recording: %s", strerror(errno));
	if (!write_list(options, world, list))
		return 1;
	return recorded ? 0 : 2;
}

static int run_conf(const struct options *options, struct world *world)
{
	struct conf_options conf = {
		.rack = options->rack,
		.board = options->board,
		.state = options->state,
		.webhook = options->webhook,
		.every = options->every,
	};

	if (!conf.rack || !conf.board || !conf.state)
		return complain("conf needs --rack LINK, --board LINK and --state DIR");
	if (!write_conf(world, &conf, stdout))
		return complain("cannot write the configuration: %s", strerror(errno));
	return 0;
}

static int run_serve(const struct options *options, struct world *world)
{
	struct serve_options serve_options = {
		.rack = options->rack,
		.board = options->board,
		.every = options->every ? options->every : 30,
	};
	struct events events = { 0 };
	double now = (double)time(NULL);

	if (!serve_options.rack || !serve_options.board)
		return complain("serve needs --rack LINK and --board LINK");
	if (!read_faults(options, now, &events))
		return 2;
	world_begin(world, now, false, events);
	return serve(world, &serve_options);
}

static const struct {
	const char *name;
	int (*run)(const struct options *options, struct world *world);
} commands[] = { { "record", run_record }, { "conf", run_conf }, { "serve", run_serve } };

int main(int argc, char **argv)
{
	struct options options = { .days = 14, .start = (double)NEW_YEAR, .seed = 1,
				   .enclosures = DESIGNS };

	for (size_t i = 0; argc > 1 && i < sizeof(commands) / sizeof(commands[0]); i++) {
		struct world *world;
		int status;

		if (strcmp(argv[1], commands[i].name) != 0)
			continue;
		if (!read_options(argc - 1, argv + 1, &options))
			return 2;
		world = world_new((uint64_t)options.seed, (size_t)options.enclosures);
		status = commands[i].run(&options, world);
		world_free(world);
		return status;
	}
	fputs(usage, argc > 1 && strcmp(argv[1], "--help") == 0 ? stdout : stderr);
	return argc > 1 && strcmp(argv[1], "--help") == 0 ? 0 : 2;
}
