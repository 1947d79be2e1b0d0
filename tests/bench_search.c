/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long a scan of 247 addresses takes at two bauds, with twelve probes among
 * them, one of the other baud, against the sum of the time-outs of those who
 * are silent: what a scan cannot do without.  The far end is partner_probes,
 * which is libmodbus.
 */
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/await.h"
#include "daemon/scan_run.h"
#include "daemon/when.h"

enum { PROBES = 12, ODD_ONE = 3, REPLY = 9, SPELLING = 40, PATH = 64 };

static const double allowed = 1.3;
static const int bauds[] = { 9600, 19200 };

struct measured {
	const struct scan_pass *pass; /* the one under way */
	size_t silent;          /* before it began */
	double granted;         /* s: the time-outs of the silent ones, their answers' own time included */
};

static void close_pass(struct measured *m, const struct scan *scan)
{
	if (m->pass)
		m->granted += (double)(scan->figures.silent - m->silent) * REPLY * 10 / m->pass->baud;
	m->silent = scan->figures.silent;
}

static void on_pass(void *context, const struct scan *scan, const struct scan_pass *pass)
{
	struct measured *m = context;

	close_pass(m, scan);
	m->pass = pass;
}

static void on_found(void *context, const struct scan *scan, const struct scan_found *found)
{
	(void)context;
	(void)scan;
	(void)found;
}

static void on_progress(void *context, const struct scan *scan)
{
	(void)context;
	(void)scan;
}

static int baud_of(int i)
{
	return bauds[i == ODD_ONE ? 0 : 1];
}

/* partner_probes beside this program, serving at link. */
static pid_t begin_partner(const char *self, char *link)
{
	static char spelling[PROBES][SPELLING], partner[4096];
	char *arguments[PROBES + 4] = { partner, link, (char[]){ "/dev/null" } };
	const char *slash = strrchr(self, '/');
	pid_t child;

	snprintf(partner, sizeof partner, "%.*s/partner_probes", slash ? (int)(slash - self) : 1,
		 slash ? self : ".");
	for (int i = 0; i < PROBES; i++) {
		snprintf(spelling[i], SPELLING, "%d@%d:4:1:%d,%d", 1 + 22 * i, baud_of(i), 200 + i,
			 500 + i);
		arguments[3 + i] = spelling[i];
	}
	child = fork();
	if (child == 0) {
		execv(partner, arguments);
		_exit(77);
	}
	for (double end = when_monotonic() + 10; access(link, F_OK) < 0 && when_monotonic() < end;)
		usleep(10000);
	return child;
}

static bool all_found(const struct scan *scan)
{
	size_t right = 0;

	for (size_t f = 0; f < scan->found_count; f++)
		for (int i = 0; i < PROBES; i++)
			right += scan->found[f].address == 1 + 22 * i &&
				 scan->found[f].baud == baud_of(i) && scan->found[f].fit_count == 1 &&
				 fabs(scan->found[f].fits[0].value[TEMPERATURE] - 20 - 0.1 * i) < 1e-9;
	return right == PROBES && scan->found_count == PROBES;
}

int main(int argc, char **argv)
{
	char folder[] = "/tmp/warmside-search.XXXXXX", link[PATH], why[PORT_WHY] = "";
	struct measured m = { 0 };
	const struct scan_sink sink = { &m, on_pass, on_found, on_progress };
	struct scan scan = { 0 };
	double begun, took;
	enum scan_end end;
	pid_t partner;

	(void)argc;
	if (!mkdtemp(folder))
		return 1;
	snprintf(link, sizeof link, "%s/port", folder);
	partner = begin_partner(argv[0], link);
	for (int b = 0; b < 2; b++)
		for (int block = LAYOUT_INPUT; block <= LAYOUT_HOLDING; block++)
			scan.plan.passes[scan.plan.count++] = (struct scan_pass){
				bauds[b], PARITY_NONE, 1, block,
				block == LAYOUT_INPUT ? SCAN_ALWAYS : SCAN_IF_HEARD,
			};
	begun = when_monotonic();
	end = scan_run(link, &scan, &sink, await_signals(), why);
	took = when_monotonic() - begun;
	close_pass(&m, &scan);
	m.granted += scan.figures.timeouts;
	kill(partner, SIGTERM);
	waitpid(partner, NULL, 0);
	unlink(link);
	rmdir(folder);
	if (end != SCAN_COMPLETE || !all_found(&scan)) {
		fprintf(stderr, "bench_search: the probes were not found as they are %s\n", why);
		return 1;
	}
	printf("%d probes among 247 addresses at two bauds: %zu asked, %zu silent, whose time-outs sum to "
	       "%.1f s; it took %.1f s: ratio %.3f (allowed %.1f)\n", PROBES, scan.figures.asked,
	       scan.figures.silent, m.granted, took, took / m.granted, allowed);
	scan_free(&scan);
	return took <= allowed * m.granted ? 0 : 1;
}
