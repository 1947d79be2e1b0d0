/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * --scan; see scan_command.h.
 */
#include "daemon/scan_command.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/await.h"
#include "daemon/found.h"
#include "daemon/progress.h"
#include "daemon/search.h"

/* What is printed while the scan runs, and where. */
struct telling {
	struct progress progress;
	const struct conf *conf; /* NULL: the port is nobody's yet */
	const struct bus *bus;  /* of conf */
	const char *name, *port;
	const struct scan_pass *head; /* the setting whose heading is printed; NULL: none */
	size_t told;            /* found[] before this one have been printed, or kept back */
};

bool scan_is_port(const char *what)
{
	return *what == '/' || strncmp(what, "usb:", 4) == 0;
}

/* ---- printing ---- */

static const struct probe *known_at(const struct telling *t, int address)
{
	for (size_t p = 0; t->conf && p < t->conf->probe_count; p++) {
		const struct probe *probe = &t->conf->probes[p];

		if (&t->conf->buses[probe->bus] == t->bus && probe->address == address)
			return probe;
	}
	return NULL;
}

static void print_head(struct telling *t, const struct scan *scan, const struct scan_found *found)
{
	const struct scan_pass *pass = &scan->plan.passes[scan->last_set];

	if (t->head && t->head->baud == pass->baud && t->head->parity == pass->parity)
		return;
	t->head = pass;
	printf("\n# At %d baud, parity %s:\n", found->baud, found_parity(found->parity));
	if (!t->bus)
		found_print_rack(stdout, t->name, t->port, found);
	else if (found->baud != t->bus->baud)
		printf("# (the bus has %d baud: all on one line need the same)\n", t->bus->baud);
}

static void on_found(void *context, const struct scan *scan, const struct scan_found *found)
{
	struct telling *t = context;
	const struct probe *known = known_at(t, found->address);
	enum units units = t->conf ? t->conf->units : CELSIUS;
	char text[FOUND_TEXT], name[FOUND_TEXT];

	progress_clear(&t->progress);
	if (found->garbled || found->again)
		return; /* until the baud is done: perhaps all are */
	print_head(t, scan, found);
	if (known && found->baud == t->bus->baud && found->fit_count) {
		printf("# \"%s\", which the configuration has, answers at address %d: %s\n",
		       known->name, found->address, found_reading(found, units, text));
	} else {
		snprintf(name, sizeof name, "%.30s %d", t->name, found->address);
		found_print_probe(stdout, name, t->name, found, units);
	}
	fflush(stdout);
}

/* The garbled ones of a setting that is done with, each or all in one word, and
 * those that were found before. */
static void tell_rest(struct telling *t, const struct scan *scan)
{
	size_t count = 0, good = 0, again = 0;

	for (size_t i = t->told; i < scan->found_count; i++) {
		count += scan->found[i].garbled;
		good += !scan->found[i].garbled;
		again += scan->found[i].again;
	}
	if (again)
		printf("# %d baud: of the addresses above %zu %s here too.  Where an adapter heeds no baud, as "
		       "those\n# for USB alone do, these are the same probes; else others with the same "
		       "address.\n", scan->found[t->told].baud, again, again == 1 ? "answers" : "answer");
	if (count >= SCAN_NOISY && !good)
		printf("# %d baud: garbage, whoever is asked.  Something talks by itself (a board that "
		       "prints lines?), or A\n# and B are swapped.\n", scan->found[t->told].baud);
	for (size_t i = t->told; i < scan->found_count && !(count >= SCAN_NOISY && !good); i++)
		if (scan->found[i].garbled)
			found_print_probe(stdout, "", "", &scan->found[i], CELSIUS);
	t->told = scan->found_count;
	fflush(stdout);
}

static void on_pass(void *context, const struct scan *scan, const struct scan_pass *pass)
{
	struct telling *t = context;

	progress_clear(&t->progress);
	tell_rest(t, scan);
	progress_pass(&t->progress, pass);
}

static void on_progress(void *context, const struct scan *scan)
{
	struct telling *t = context;

	progress_show(&t->progress, scan);
}

static void print_board(const struct telling *t, const struct heard *heard)
{
	printf("# A board prints lines here, such as \"%s\":\n", heard->lines[heard->count - 1]);
	found_print_board(stdout, t->name, t->port, heard);
	found_print_board_probes(stdout, t->name, heard, t->conf ? t->conf->units : CELSIUS);
}

/* ---- the end ---- */

static bool is_good(const struct scan_found *found)
{
	return found->done && !found->garbled && !found->again;
}

/* How many probes, and at how many settings. */
static size_t count_good(const struct scan *scan, size_t *settings)
{
	size_t good = 0;

	*settings = 0;
	for (size_t i = 0; i < scan->found_count; i++) {
		bool first = is_good(&scan->found[i]);

		good += first;
		for (size_t j = 0; j < i; j++)
			first = first && (!is_good(&scan->found[j]) ||
					  scan->found[j].baud != scan->found[i].baud ||
					  scan->found[j].parity != scan->found[i].parity);
		*settings += first;
	}
	return good;
}

static int conclude(struct telling *t, const struct scan *scan, enum scan_end end, bool talks,
		    const char *why)
{
	size_t settings, good = count_good(scan, &settings);

	progress_clear(&t->progress);
	tell_rest(t, scan);
	if (end == SCAN_NO_PORT)
		fprintf(stderr, "warmsided: %s\n", why);
	if (end == SCAN_STOPPED)
		fputs("Ended before all was asked.\n", stderr);
	if (good)
		fprintf(stderr, "Found: %zu.\n", good);
	if (settings > 1)
		fputs("A bus has one baud and one parity: give all probes on it the same, as their paper "
		      "says.\n", stderr);
	if (!good && end == SCAN_COMPLETE)
		fprintf(stderr, "%s\n", talks ? "Something is heard on this line, but nothing that can be "
			"understood: are A and B swapped?" : "Nobody answers.  Is there power, are A and B "
			"the right way round, is it this port?  See contrib/registers.md.");
	return good ? EXIT_SUCCESS : EXIT_FAILURE;
}

static struct scan_sink sink_of(struct telling *t)
{
	return (struct scan_sink){ t, on_pass, on_found, on_progress };
}

int scan_port_command(const char *port)
{
	struct telling t = { .name = "rack", .port = port };
	const struct scan_sink sink = sink_of(&t);
	char *hindrance = search_hindrance(port), why[PORT_WHY] = "";
	struct search search = { 0 };
	int signals, status;
	enum scan_end end;

	if (hindrance) {
		fprintf(stderr, "warmsided: %s\n", hindrance);
		free(hindrance);
		return EXIT_FAILURE;
	}
	signals = await_signals();
	progress_listening(&t.progress, port);
	end = search_run(port, &search, &sink, signals, why);
	if (search.heard.guessed) {
		progress_clear(&t.progress);
		t.name = "board";
		print_board(&t, &search.heard);
		status = EXIT_SUCCESS;
	} else {
		status = conclude(&t, &search.scan, end, search.talks, why);
	}
	search_free(&search);
	close(signals);
	return status;
}

/* ---- a bus of the configuration ---- */

static int hear_bus(struct telling *t)
{
	int signals = await_signals();
	char why[PORT_WHY] = "";
	struct heard heard;
	enum listen_end end;
	bool guessed;

	progress_listening(&t->progress, t->port);
	end = listen_run(t->bus, 2 * t->bus->every + 5, signals, &heard, why);
	progress_clear(&t->progress);
	guessed = heard.guessed;
	if (guessed)
		print_board(t, &heard);
	else if (end == LISTEN_NO_PORT)
		fprintf(stderr, "warmsided: %s\n", why);
	else if (heard.bytes == 0)
		fprintf(stderr, "warmsided: bus \"%s\" prints nothing%s\n", t->name,
			t->bus->ask ? "; is it asked as it wants to be?" : "; does it have to be asked?");
	else
		fprintf(stderr, "warmsided: bus \"%s\" prints no lines with values in them%s\n", t->name,
			heard.bad ? "; has it another baud?" : "");
	for (size_t i = 0; !guessed && i < heard.count && i < 3; i++)
		fprintf(stderr, "heard: %s\n", heard.lines[i]);
	heard_free(&heard);
	close(signals);
	return guessed ? EXIT_SUCCESS : EXIT_FAILURE;
}

static int scan_bus(struct telling *t)
{
	const struct scan_sink sink = sink_of(t);
	char why[PORT_WHY] = "";
	struct scan scan = { 0 };
	int signals = await_signals(), status;
	enum scan_end end;

	scan_plan_bus(&scan.plan, t->bus);
	end = scan_run(t->port, &scan, &sink, signals, why);
	status = conclude(t, &scan, end, scan.figures.garbled > 0, why);
	scan_free(&scan);
	close(signals);
	return status;
}

static const struct bus *find_bus(const struct conf *conf, const char *name, const char *path)
{
	for (size_t b = 0; b < conf->bus_count; b++)
		if (strcmp(conf->buses[b].name, name) == 0)
			return &conf->buses[b];
	fprintf(stderr, "warmsided: %s has no bus \"%s\"; it has", path, name);
	for (size_t b = 0; b < conf->bus_count; b++)
		fprintf(stderr, "%s \"%s\"", b ? "," : "", conf->buses[b].name);
	fprintf(stderr, "%s; a port can be given as well, such as /dev/ttyUSB0\n",
		conf->bus_count ? "" : " none");
	return NULL;
}

int scan_bus_command(const struct conf *conf, const char *name, const char *path)
{
	struct telling t = { .conf = conf, .bus = find_bus(conf, name, path), .name = name };
	char *hindrance;

	if (!t.bus)
		return EXIT_FAILURE;
	t.port = t.bus->port;
	hindrance = search_hindrance(t.port);
	if (hindrance) {
		fprintf(stderr, "warmsided: bus \"%s\": %s\n", name, hindrance);
		free(hindrance);
		return EXIT_FAILURE;
	}
	return t.bus->speaks == SPEAKS_LINES ? hear_bus(&t) : scan_bus(&t);
}
