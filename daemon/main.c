/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmsided: options, configuration, and what is to be done with it.
 */
#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/memory.h"
#include "conf/remarks.h"
#include "conf/streams.h"
#include "conf/words.h"
#include "daemon/draft.h"
#include "daemon/log.h"
#include "daemon/ports.h"
#include "daemon/readout.h"
#include "daemon/replay.h"
#include "daemon/scan_command.h"
#include "daemon/testalert.h"
#include "daemon/watcher.h"
#include "daemon/when.h"

enum { EXIT_USAGE = 2 };

enum task { WATCH, CHECK, DRAFT, PORTS, READ, REPLAY, SCAN, TEST_ALERT };

struct options {
	const char *conf;
	bool conf_named;
	enum task task;
	const char *recording;
	const char *scanned;    /* a bus or a port */
	char *const *ports;     /* to draft from; none: all */
	size_t port_count;
	const char *into;
	bool post;
	bool watch;
};

static const char help[] =
	"Usage: warmsided [-c FILE]                  watch, in the foreground, log to standard error\n"
	"       warmsided [-c FILE] --check          print every fault of the configuration\n"
	"       warmsided --ports                    the serial ports here, and who has them\n"
	"       warmsided [-c FILE] --scan BUS       who is on a bus, or on a port (/dev/...,\n"
	"                                            usb:...): lines to paste\n"
	"       warmsided [-c FILE] --draft [PORT...]\n"
	"                                            a configuration from what is found, into FILE,\n"
	"                                            which is never overwritten, or printed\n"
	"       warmsided [-c FILE] --read [--watch] a reading from each probe, raw and corrected\n"
	"       warmsided [-c FILE] --test-alert     a marked message through the whole chain\n"
	"       warmsided [-c FILE] --replay FILE [--into DIR] [--post]\n"
	"                                            a recording through the whole chain\n"
	"\n"
	"  -c, --config FILE  the configuration (default " DEFAULT_CONF ")\n"
	"      --into DIR     replay into this state folder instead of the configured one\n"
	"      --post         replay: post the messages instead of printing them\n"
	"      --watch        read: again and again, to see which probe is which\n"
	"  -h, --help         this text\n"
	"      --version      the version\n"
	"\n"
	"Warmside watches; it switches nothing. Heaters need their own thermostat and an\n"
	"independent cut-off.\n";

/* It does one thing at a time. */
static bool is_first(const struct options *options)
{
	if (options->task == WATCH)
		return true;
	fputs("warmsided: of --check, --draft, --ports, --read, --replay, --scan and --test-alert one at a "
	      "time\n", stderr);
	return false;
}

/* False when somebody must be told how to call us. */
static bool take_option(struct options *options, int option)
{
	switch (option) {
	case 'c':
		options->conf = optarg;
		options->conf_named = true;
		return true;
	case 'd':
	case 'k':
	case 'p':
	case 'r':
	case 't':
		if (!is_first(options))
			return false;
		options->task = option == 'k'	? CHECK
				: option == 'd' ? DRAFT
				: option == 'p' ? PORTS
				: option == 'r' ? READ
						: TEST_ALERT;
		return true;
	case 'y':
		if (!is_first(options))
			return false;
		options->task = REPLAY;
		options->recording = optarg;
		return true;
	case 's':
		if (!is_first(options))
			return false;
		options->task = SCAN;
		options->scanned = optarg;
		return true;
	case 'i':
		options->into = optarg;
		return true;
	case 'o':
		options->post = true;
		return true;
	case 'w':
		options->watch = true;
		return true;
	case 'h':
		fputs(help, stdout);
		exit(EXIT_SUCCESS);
	case 'v':
		puts("warmsided " PACKAGE_VERSION);
		exit(EXIT_SUCCESS);
	default:
		return false;
	}
}

static bool read_options(int argc, char *argv[], struct options *options)
{
	static const struct option known[] = {
		{ "config", required_argument, NULL, 'c' }, { "check", no_argument, NULL, 'k' },
		{ "ports", no_argument, NULL, 'p' },	    { "read", no_argument, NULL, 'r' },
		{ "replay", required_argument, NULL, 'y' }, { "into", required_argument, NULL, 'i' },
		{ "post", no_argument, NULL, 'o' },	    { "test-alert", no_argument, NULL, 't' },
		{ "scan", required_argument, NULL, 's' },   { "draft", no_argument, NULL, 'd' },
		{ "watch", no_argument, NULL, 'w' },
		{ "help", no_argument, NULL, 'h' },	    { "version", no_argument, NULL, 'v' },
		{ 0 },
	};
	int option;

	while ((option = getopt_long(argc, argv, "c:h", known, NULL)) != -1)
		if (!take_option(options, option))
			return false;
	if (options->task == DRAFT) {
		options->ports = argv + optind;
		options->port_count = (size_t)(argc - optind);
	} else if (optind < argc) {
		fprintf(stderr, "warmsided: \"%s\" is no option\n", argv[optind]);
		return false;
	}
	if ((options->into || options->post) && options->task != REPLAY) {
		fputs("warmsided: --into and --post go with --replay\n", stderr);
		return false;
	}
	if (options->watch && options->task != READ) {
		fputs("warmsided: --watch goes with --read\n", stderr);
		return false;
	}
	return true;
}

/* The configuration, or NULL with every fault printed. */
static struct conf *load(const struct options *options)
{
	struct faults faults = { 0 };
	/* Faults are what --check is asked for; elsewhere they are in the way. */
	FILE *out = options->task == CHECK ? stdout : stderr;
	/* Whoever asks for a test, a scan or a readout need not be allowed to read the
	 * secrets. */
	bool spared = options->task == TEST_ALERT || options->task == SCAN ||
		      options->task == READ;
	struct conf *conf = spared ? conf_load_without_webhooks(options->conf, &faults)
				   : conf_load(options->conf, &faults);

	for (size_t i = 0; i < faults.count; i++) {
		const struct fault *fault = &faults.list[i];

		if (fault->line > 0)
			fprintf(out, "%s:%d: %s\n", fault->file, fault->line, fault->text);
		else
			fprintf(out, "%s: %s\n", fault->file, fault->text);
	}
	faults_clear(&faults);
	if (!conf && access(options->conf, F_OK) != 0 && errno == ENOENT)
		fprintf(out, "There is no configuration yet: \"warmsided -c %s --draft\" writes one "
			"from the ports and probes found here; " EXAMPLE_CONF " is an example to "
			"read.\n", options->conf);
	return conf;
}

/* A faultless configuration: how much it holds, and what may be a slip. */
static void check(const struct conf *conf, const char *path)
{
	struct faults remarks = { 0 };
	size_t proper = enclosures_proper(conf);

	printf("%s is in order: %zu enclosure%s%s, %zu probe%s on %zu bus%s\n", path, proper,
	       proper == 1 ? "" : "s", proper < conf->enclosure_count ? " and the room" : "",
	       conf->probe_count, conf->probe_count == 1 ? "" : "s", conf->bus_count,
	       conf->bus_count == 1 ? "" : "es");
	conf_remarks(conf, when_wall(), &remarks);
	for (size_t i = 0; i < remarks.count; i++)
		printf("note: %s\n", remarks.list[i].text);
	faults_clear(&remarks);
}

static int replay(struct conf *conf, const struct options *options)
{
	if (options->into) {
		free(conf->state);
		conf->state = must_copy(options->into);
	}
	int status = replay_run(conf, options->recording, options->post);

	conf_free(conf);
	return status;
}

int main(int argc, char *argv[])
{
	struct options options = { .conf = DEFAULT_CONF };

	streams_fill();
	if (!read_options(argc, argv, &options)) {
		fputs("Try 'warmsided --help'.\n", stderr);
		return EXIT_USAGE;
	}
	tzset();
	if (options.task == PORTS)
		return ports_run();
	if (options.task == SCAN && scan_is_port(options.scanned))
		return scan_port_command(options.scanned);
	if (options.task == DRAFT)
		return draft_command(options.conf_named ? options.conf : NULL, options.ports,
				     options.port_count);
	struct conf *conf = load(&options);
	int status = EXIT_SUCCESS;

	if (!conf)
		return EXIT_FAILURE;
	switch (options.task) {
	case WATCH:
		if (!options.conf_named)
			log_info("watching by %s; -c FILE takes another", options.conf);
		return watcher_run(conf, options.conf);
	case REPLAY:
		return replay(conf, &options);
	case READ:
		status = options.watch ? readout_watch(conf) : readout_probes(conf);
		break;
	case TEST_ALERT:
		status = testalert_run(conf, options.conf);
		break;
	case SCAN:
		status = scan_bus_command(conf, options.scanned, options.conf);
		break;
	case CHECK:
		check(conf, options.conf);
		break;
	case DRAFT:
	case PORTS:
		break;
	}
	conf_free(conf);
	return status;
}
