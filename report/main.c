/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside, the report tool: reads what the daemon wrote, and totals, lists
 * and draws it.
 */
#include <errno.h>
#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/streams.h"
#include "report/options.h"
#include "report/request.h"

enum {
	MANY = 100,
	DRYING_SPAN = 14 * 86400, /* s: the default window of drying; a day shows little of it */
	KEPT_BYTES = 32 * 1024 * 1024,
};

static const struct command {
	const char *name, *arguments, *help;
	int (*run)(const struct request *request);
	size_t least, most;     /* arguments */
	enum { TELLS, DRAWS, LOOKS, ASKS, DRIES, CALIBRATES } kind; /* text, json, csv; png, svg; html, text,
							  * json; asks the daemon; all but html;
							  * text, json */
} commands[] = {
	{ "now", "", "the latest reading of every place, and its state", now_command, 0, 0, TELLS },
	{ "totals", "", "time below, above, inside, unknown; min, mean, max; degree-hours out",
	  totals_command, 0, 0, TELLS },
	{ "excursions", "", "each time outside a band: from, to, how deep", excursions_command, 0, 0,
	  TELLS },
	{ "graph", "ENCLOSURE [PLACE...]", "PNG or SVG of an enclosure, or of some of its places",
	  graph_command, 1, MANY, DRAWS },
	{ "morning", "", "the page: one file for phone and desk; or a digest of it",
	  morning_command, 0, 0, LOOKS },
	{ "drying", "[ENCLOSURE]", "mistings, how fast each enclosure dries after them, air changes",
	  drying_command, 0, 1, DRIES },
	{ "away", "DURATION", "what would happen if nobody came for that long", away_command, 1, 1,
	  TELLS },
	{ "salt", "NAME [PLACE]", "what a probe read in a jar over salt, and its correction",
	  salt_command, 1, 2, CALIBRATES },
	{ "alerts", "", "the alert log, read for people", alerts_command, 0, 0, TELLS },
	{ "species", "[NAME]", "bands, limits and patience, and where each value comes from",
	  species_command, 0, 1, TELLS },
	{ "shelve", "ENCLOSURE DURATION", "hold its alerts, for at most 24 h; 0s ends it",
	  shelve_command, 2, 2, ASKS },
	{ "ack", "[ENCLOSURE]", "I have seen what stands, there or everywhere", ack_command, 0, 1,
	  ASKS },
};

static void print_usage(FILE *file)
{
	fputs("usage: warmside [OPTIONS] COMMAND\n\n", file);
	for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
		char words[40];

		snprintf(words, sizeof words, "%s %s", commands[i].name, commands[i].arguments);
		fprintf(file, "  %-28s%s\n", words, commands[i].help);
	}
	fprintf(file, "\n%s", options_help);
}

static const struct command *find_command(const struct options *options)
{
	if (!options->word_count) {
		print_usage(stderr);
		return NULL;
	}
	for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
		if (strcmp(commands[i].name, options->words[0]) == 0)
			return &commands[i];
	fprintf(stderr, "warmside: no command is named %s; warmside --help lists them\n",
		options->words[0]);
	return NULL;
}

static bool gives(const struct command *command, enum format format)
{
	switch (format) {
	case FORMAT_UNSAID:
		return true;
	case FORMAT_TEXT:
	case FORMAT_JSON:
		return command->kind == TELLS || command->kind == LOOKS || command->kind == DRIES ||
		       command->kind == CALIBRATES;
	case FORMAT_CSV:
		return command->kind == TELLS || command->kind == DRIES;
	case FORMAT_PNG:
	case FORMAT_SVG:
		return command->kind == DRAWS || command->kind == DRIES;
	case FORMAT_HTML:
		return command->kind == LOOKS;
	}
	return false;
}

static bool given_once(const struct options *options)
{
	if (options->from_count <= 1 && options->to_count <= 1)
		return true;
	fprintf(stderr, "warmside: %s is given twice; only salt takes more than one\n",
		options->from_count > 1 ? "--from" : "--to");
	return false;
}

/* The same of what may be given once for each salt, and only there twice. */
static bool owns_salts(const struct command *command, const struct options *options)
{
	if (command->kind != CALIBRATES && options->salt_count) {
		fputs("warmside: --salt belongs to salt\n", stderr);
		return false;
	}
	if (command->kind != CALIBRATES)
		return given_once(options);
	if (options->salt_count < 1 || options->salt_count > SALT_TESTS) {
		fputs("warmside: say which salt was in the jar, one or two of them: --salt nacl\n",
		      stderr);
		return false;
	}
	if (options->from_count == options->salt_count &&
	    (options->to_count == options->salt_count ||
	     options->to_count + 1 == options->salt_count))
		return true;
	fputs("warmside: each --salt needs a --from when its jar was closed and a --to when it was "
	      "opened, in the same order; the last --to may be left out while the jar is closed\n",
	      stderr);
	return false;
}

/* Whether options that belong to some commands only suit this one; says it when not. */
static bool owns(const struct command *command, const struct options *options)
{
	if (command->kind != DRAWS && command->kind != LOOKS && command->kind != DRIES &&
	    options->output) {
		fputs("warmside: -o belongs to graph, morning and drying\n", stderr);
		return false;
	}
	if (command->kind != DRAWS && command->kind != DRIES && options->width) {
		fputs("warmside: --size belongs to graph and drying\n", stderr);
		return false;
	}
	if (command->kind != DRAWS &&
	    (options->has_scale[TEMPERATURE] || options->has_scale[HUMIDITY])) {
		fputs("warmside: --scale belongs to graph\n", stderr);
		return false;
	}
	if (command->kind != DRIES && options->save) {
		fputs("warmside: --save belongs to drying\n", stderr);
		return false;
	}
	if (options->save && (options->from || options->to || options->output || options->width ||
			      options->format != FORMAT_UNSAID || options->word_count > 1)) {
		fputs("warmside: drying --save keeps what was not kept yet, of all enclosures; it "
		      "takes no enclosure, window, format, size or -o\n", stderr);
		return false;
	}
	if (command->kind != ASKS && (options->by || options->note)) {
		fputs("warmside: --by and --note belong to shelve and ack\n", stderr);
		return false;
	}
	return owns_salts(command, options);
}

/* Whether arguments and format suit the command; says it when not. */
static bool suits(const struct command *command, const struct options *options)
{
	size_t arguments = options->word_count - 1;

	if (arguments < command->least || arguments > command->most) {
		fprintf(stderr, "warmside: usage: warmside %s%s%s\n", command->name,
			*command->arguments ? " " : "", command->arguments);
		return false;
	}
	if (!gives(command, options->format)) {
		static const char *const formats[] = {
			[TELLS] = "text, json or csv", [DRAWS] = "png or svg",
			[LOOKS] = "html, text or json",
			[ASKS] = "a sentence, and takes no --format",
			[DRIES] = "text, json or csv; of one enclosure png or svg too",
			[CALIBRATES] = "text or json",
		};

		fprintf(stderr, "warmside: %s gives %s\n", command->name, formats[command->kind]);
		return false;
	}
	return owns(command, options);
}

static void print_fault(const struct fault *fault)
{
	if (fault->line)
		fprintf(stderr, "%s:%d: %s\n", fault->file, fault->line, fault->text);
	else
		fprintf(stderr, "%s: %s\n", fault->file, fault->text);
}

/* The configuration, or NULL; for what asks for more than it, with a state folder that
 * can be read.  On the first evening no daemon has made one yet. */
static struct conf *load(const char *path, bool wants_state)
{
	struct faults faults = { 0 };
	struct conf *conf = conf_load_without_webhooks(path, &faults);

	for (size_t i = 0; i < faults.count; i++)
		print_fault(&faults.list[i]);
	faults_clear(&faults);
	if (!conf && access(path, F_OK) != 0 && errno == ENOENT)
		fprintf(stderr, "There is no configuration yet: \"warmsided -c %s --draft\" writes one "
			"from the ports and probes found here; " EXAMPLE_CONF " is an example to "
			"read.\n", path);
	if (!wants_state)
		return conf;
	if (conf && !conf->state)
		fprintf(stderr, "%s: no state folder is named; write for example "
			"state = \"/var/lib/warmside\"\n", path);
	else if (conf && access(conf->state, R_OK | X_OK))
		fprintf(stderr, "warmside: the state folder %s cannot be read: %s; %s names it, and "
			"-c FILE takes another configuration\n", conf->state,
			strerror(errno), path);
	else
		return conf;
	conf_free(conf);
	return NULL;
}

/* Only text is fitted to the terminal; what is unsaid may become text. */
static struct terminal terminal_for(const struct request *request)
{
	return request->format == FORMAT_TEXT || request->format == FORMAT_UNSAID
		       ? terminal_open()
		       : terminal_onto(stdout, 0, false, false);
}

/* The exit status, once all is on standard output. */
static int answer(const struct command *command, struct request request)
{
	struct terminal terminal = terminal_for(&request);
	int result;

	request.terminal = &terminal;
	result = command->run(&request);
	if (!terminal_close(&terminal)) {
		fprintf(stderr, "warmside: standard output cannot be written: %s\n",
			strerror(errno));
		return FAILED;
	}
	return result;
}

/* One probe lies in one jar at a time. */
static bool overlap(const struct salt_test *first, const struct salt_test *second)
{
	return first->window.from < second->window.to && second->window.from < first->window.to;
}

/* The windows of the salts; false after a sentence. */
static bool read_tests(const struct options *options, struct request *request)
{
	request->test_count = options->salt_count;
	for (size_t i = 0; i < options->salt_count; i++) {
		struct salt_test *test = &request->tests[i];
		char *trouble = window_parse(options->froms[i],
					     i < options->to_count ? options->tos[i] : NULL,
					     request->now, &test->window);

		test->salt = options->salts[i];
		if (!trouble)
			continue;
		fprintf(stderr, "warmside: %s\n", trouble);
		free(trouble);
		return false;
	}
	if (request->test_count > 1 && overlap(&request->tests[0], &request->tests[1])) {
		fputs("warmside: the tests in the two salts overlap, and a probe lies in one jar at a "
		      "time; give each --salt the --from and --to of its own jar\n", stderr);
		return false;
	}
	return true;
}

static int run(const struct command *command, const struct options *options)
{
	struct request request = {
		.now = (double)time(NULL),
		.from_unsaid = !options->from,
		.until_now = !options->to,
		.format = options->format == FORMAT_UNSAID && command->kind == TELLS
				  ? FORMAT_TEXT
				  : options->format,
		.words = options->words + 1,
		.word_count = options->word_count - 1,
		.output = options->output,
		.width = options->width,
		.height = options->height,
		.save = options->save,
		.by = options->by,
		.note = options->note,
	};

	for (int quantity = 0; quantity < QUANTITIES; quantity++)
		request.scale[quantity] =
			options->has_scale[quantity] ? &options->scale[quantity] : NULL;

	char *trouble = window_parse(options->from, options->to, request.now, &request.window);

	if (trouble) {
		fprintf(stderr, "warmside: %s\n", trouble);
		free(trouble);
		return USAGE;
	}
	if (command->kind == CALIBRATES && !read_tests(options, &request))
		return USAGE;
	if (command->kind == DRIES && !options->from)
		request.window.from = request.window.to - DRYING_SPAN;

	struct conf *conf = load(options->conf ? options->conf : DEFAULT_CONF,
				 command->run != species_command);

	if (!conf)
		return FAILED;
	request.conf = conf;

	int result = answer(command, request);

	conf_free(conf);
	return result;
}

/* Archive after archive takes and frees the same few megabytes.  Given back to
 * the system each time, finding them again costs more than reading does. */
static void keep_freed_memory(void)
{
	mallopt(M_MMAP_THRESHOLD, KEPT_BYTES);
	mallopt(M_TRIM_THRESHOLD, KEPT_BYTES);
}

/* Unsaid, the zone is /etc/localtime's; but the C library looks whether that has changed
 * each time it tells a local time, and a report tells many. */
static void read_zone_once(void)
{
	setenv("TZ", ":/etc/localtime", 0);
}

int main(int argc, char *argv[])
{
	struct options options;
	const struct command *command;

	streams_fill();
	if (!options_parse(argc, argv, &options))
		return USAGE;
	if (options.help) {
		print_usage(stdout);
		return DONE;
	}
	if (options.version) {
		puts("warmside " PACKAGE_VERSION);
		return DONE;
	}
	keep_freed_memory();
	read_zone_once();
	command = find_command(&options);
	if (!command || !suits(command, &options))
		return USAGE;
	return run(command, &options);
}
