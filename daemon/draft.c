/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * --draft: which ports, and where the draft goes; see draft.h.
 */
#include "daemon/draft.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/memory.h"
#include "daemon/await.h"
#include "daemon/draft_text.h"
#include "daemon/found.h"
#include "daemon/ports.h"
#include "daemon/progress.h"
#include "daemon/scan_doubt.h"

/* ---- which ports ---- */

/* As the configuration names it best. */
static char *best_name(const struct port_list *ports, const struct port_found *port)
{
	char identity[PORT_IDENTITY], why[PORT_WHY], *link;

	if (port_identity(port, identity) && port_resolve(ports, identity, why) == port)
		return must_copy(identity);
	link = port_stable_link(port->name);
	return link ? link : must_copy(port->name);
}

static void add_port(struct draft *draft, char *name)
{
	draft->ports = must_resize(draft->ports, draft->count + 1, sizeof *draft->ports);
	draft->ports[draft->count++] = (struct drafted_port){ .name = name };
}

static void choose_ports(struct draft *draft, char *const *named, size_t count)
{
	struct port_list ports = { 0 };

	for (size_t i = 0; i < count; i++)
		add_port(draft, must_copy(named[i]));
	if (count > 0)
		return;
	ports = port_list();
	for (size_t i = 0; i < ports.count; i++)
		if (ports.list[i].is_usb)
			add_port(draft, best_name(&ports, &ports.list[i]));
	port_list_free(&ports);
}

static void draft_free(struct draft *draft)
{
	for (size_t i = 0; i < draft->count; i++) {
		free(draft->ports[i].name);
		free(draft->ports[i].trouble);
		search_free(&draft->ports[i].search);
	}
	free(draft->ports);
	free(draft->species);
}

/* ---- searching ---- */

struct looker {
	struct progress progress;
	const char *port;
};

static void on_pass(void *context, const struct scan *scan, const struct scan_pass *pass)
{
	struct looker *looker = context;

	(void)scan;
	progress_pass(&looker->progress, pass);
}

static void on_found(void *context, const struct scan *scan, const struct scan_found *found)
{
	struct looker *looker = context;
	char text[FOUND_TEXT];

	(void)scan;
	progress_clear(&looker->progress);
	found_reading(found, CELSIUS, text);
	fprintf(stderr, "%s: address %d: %s\n", looker->port, found->address,
		found->garbled ? "garbled" : *text ? text : "somebody, but no usual register");
}

static void on_progress(void *context, const struct scan *scan)
{
	struct looker *looker = context;

	progress_show(&looker->progress, scan);
}

/* Returns false when the keeper has ended it. */
static bool search_port(struct drafted_port *port, int signals)
{
	struct looker looker = { .port = port->name };
	const struct scan_sink sink = { &looker, on_pass, on_found, on_progress };
	char why[PORT_WHY] = "";
	enum scan_end end;

	port->trouble = search_hindrance(port->name);
	if (port->trouble) {
		fprintf(stderr, "warmsided: left out: %s\n", port->trouble);
		return true;
	}
	progress_listening(&looker.progress, port->name);
	port->search.scan.plan.one_setting = true;
	end = search_run(port->name, &port->search, &sink, signals, why);
	scan_settle_doubt(&port->search.scan);
	progress_clear(&looker.progress);
	if (end == SCAN_NO_PORT)
		port->trouble = must_copy(why);
	else if (end == SCAN_STOPPED)
		port->trouble = must_print("%s: you ended the search before all was asked", port->name);
	else if (!port->search.heard.guessed && port->search.scan.found_count == 0)
		port->trouble = must_print("%s: %s", port->name,
					   port->search.talks ? "something is heard, but nothing that "
								"can be understood"
							      : "nobody answers");
	if (port->trouble)
		fprintf(stderr, "warmsided: %s\n", port->trouble);
	return end != SCAN_STOPPED;
}

static void search_all(struct draft *draft)
{
	int signals = await_signals();
	bool on = true;

	for (size_t i = 0; i < draft->count; i++) {
		if (on)
			on = search_port(&draft->ports[i], signals);
		else
			draft->ports[i].trouble = must_print("%s: not looked at, you ended the search",
							     draft->ports[i].name);
	}
	close(signals);
}

/* ---- writing ---- */

/* species.conf in the folder of this file; NULL when it is not there. */
static char *species_beside(const char *path)
{
	const char *slash = strrchr(path, '/');
	char *file = slash ? must_print("%.*s/species.conf", (int)(slash - path), path)
			   : must_copy("species.conf");

	if (access(file, R_OK) == 0)
		return file;
	free(file);
	return NULL;
}

/* What `include` is to name: the species file beside the draft, else the
 * installed one; NULL when neither is there.  Beside what a printed draft will
 * lie, nobody knows. */
static char *find_species(const char *path)
{
	char *beside = path ? species_beside(path) : NULL;

	if (!beside)
		return species_beside(DEFAULT_CONF);
	free(beside);
	return must_copy("species.conf");
}

static int refuse_to_overwrite(const char *path)
{
	fprintf(stderr, "warmsided: %s exists, and a draft never overwrites: name another file with -c, "
		"or move this one away\n", path);
	return EXIT_FAILURE;
}

static bool write_all(int fd, const char *text, size_t size)
{
	while (size > 0) {
		ssize_t done = write(fd, text, size);

		if (done < 0 && errno != EINTR)
			return false;
		text += done > 0 ? done : 0;
		size -= done > 0 ? (size_t)done : 0;
	}
	return true;
}

/* A file that is new.  When it cannot be written whole nothing of it is left,
 * or the next draft would be refused for it.  False with errno. */
static bool write_file(const char *path, const char *text, size_t size)
{
	int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644), error = 0;

	if (fd < 0)
		return false;
	if (!write_all(fd, text, size))
		error = errno;
	if (close(fd) < 0 && !error)
		error = errno;
	if (error)
		unlink(path);
	errno = error;
	return error == 0;
}

/* Loads what was drafted as the watch will.  Prints its faults; false with any. */
static bool is_in_order(const char *path, const char *shown)
{
	struct faults faults = { 0 };
	struct conf *conf = conf_load(path, &faults);
	bool good = conf != NULL;

	for (size_t i = 0; i < faults.count; i++)
		fprintf(stderr, "warmsided: %s:%d: %s\n",
			strcmp(faults.list[i].file, path) == 0 ? shown : faults.list[i].file,
			faults.list[i].line, faults.list[i].text);
	faults_clear(&faults);
	conf_free(conf);
	return good;
}

/* The search took minutes: it is not to be lost. */
static int print_draft(const char *text, size_t size)
{
	if (write_all(STDOUT_FILENO, text, size))
		return EXIT_SUCCESS;
	fprintf(stderr, "warmsided: the draft could not be written whole: %s\n", strerror(errno));
	return EXIT_FAILURE;
}

/* A printed draft has no file to load it from but one in memory. */
static bool is_printed_in_order(const char *text, size_t size)
{
	int fd = memfd_create("draft", MFD_CLOEXEC);
	char *path = must_print("/proc/self/fd/%d", fd);
	/* Where memory has no file to give, the keeper's own --check has to do. */
	bool good = fd < 0 || !write_all(fd, text, size) || is_in_order(path, "the draft");

	if (fd >= 0)
		close(fd);
	free(path);
	return good;
}

static int give_draft(const struct draft *draft, const char *path, const char *text, size_t size)
{
	if (!path && !is_printed_in_order(text, size))
		fputs("warmsided: the draft has faults, which have to be mended by hand\n", stderr);
	if (!path)
		return print_draft(text, size);
	if (!write_file(path, text, size)) {
		if (errno == EEXIST)
			return refuse_to_overwrite(path);
		fprintf(stderr, "warmsided: %s cannot be written: %s; here is the draft instead:\n", path,
			strerror(errno));
		print_draft(text, size);
		return EXIT_FAILURE;
	}
	if (!is_in_order(path, path)) {
		fprintf(stderr, "warmsided: %s is written, but has these faults, which have to be mended by "
			"hand\n", path);
		return EXIT_FAILURE;
	}
	fprintf(stderr, "%s is written, with %zu probes.  Read it and make it yours, then: "
		"warmsided -c %s --check\n", path, draft_probes(draft), path);
	return EXIT_SUCCESS;
}

static int write_draft(const struct draft *draft, const char *path)
{
	char *text = NULL;
	size_t size = 0;
	FILE *out = open_memstream(&text, &size);
	int status = EXIT_FAILURE;

	if (out)
		draft_print(out, draft, path);
	if (!out || fclose(out) != 0)
		fprintf(stderr, "warmsided: the draft has no room in memory: %s\n", strerror(errno));
	else
		status = give_draft(draft, path, text, size);
	free(text);
	return status;
}

int draft_command(const char *path, char *const *ports, size_t count)
{
	struct draft draft = { .species = find_species(path) };
	int status = EXIT_FAILURE;
	struct stat there;

	for (size_t i = 0; i < count; i++)
		if (ports[i][0] != '/' && strncmp(ports[i], "usb:", 4) != 0) {
			fprintf(stderr, "warmsided: \"%s\" is no port; write a path that begins with /, "
				"or usb:VID:PID; warmsided --ports lists them\n", ports[i]);
			free(draft.species);
			return EXIT_FAILURE;
		}
	if (path && lstat(path, &there) == 0) {
		free(draft.species);
		return refuse_to_overwrite(path);
	}
	choose_ports(&draft, ports, count);
	search_all(&draft);
	if (draft.count == 0)
		fputs("warmsided: no USB serial port is here to make a draft from; another kind can be named: "
		      "warmsided --draft /dev/ttyS0\n", stderr);
	else if (draft_probes(&draft) == 0)
		fputs("warmsided: no probe is found, so no draft is written; look at warmsided --ports and "
		      "at contrib/registers.md\n", stderr);
	else
		status = write_draft(&draft, path);
	draft_free(&draft);
	return status;
}
