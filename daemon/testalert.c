/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A test message through the whole chain; see testalert.h.
 */
#include "daemon/testalert.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/asking.h"
#include "conf/layout.h"
#include "conf/load.h"
#include "conf/lockfile.h"
#include "conf/logtail.h"
#include "conf/memory.h"
#include "daemon/when.h"

enum {
	PATIENCE = 60,          /* s */
	LOOK_MS = 50,
};

/* A webhook that is to take the test. */
struct taker {
	const char *name;
	bool took;
};

struct test {
	struct taker *takers;
	size_t count, left;     /* so many have not taken it yet */
	double asked;           /* monotonic */
	bool made;              /* the daemon has made it ... */
	char message[ALERT_ID]; /* ... as this message */
};

static void note_delivered(struct test *test, const struct alert_record *record)
{
	for (size_t i = 0; i < test->count; i++) {
		struct taker *taker = &test->takers[i];

		if (taker->took || strcmp(taker->name, record->webhook) != 0)
			continue;
		taker->took = true;
		test->left--;
		printf("webhook \"%s\" took the test after %.1f s\n", taker->name,
		       when_monotonic() - test->asked);
		fflush(stdout);
	}
}

static void note(struct test *test, const struct alert_record *record)
{
	if (record->event == TESTED && !test->made && record->message[0]) {
		test->made = true;
		memcpy(test->message, record->message, sizeof test->message);
	} else if (record->event == DELIVERED && test->made &&
		   strcmp(record->message, test->message) == 0) {
		note_delivered(test, record);
	}
}

static void follow(struct test *test, struct logtail *tail, const char *state)
{
	struct alert_record record;

	while (test->left > 0 && when_monotonic() - test->asked < PATIENCE &&
	       state_is_held(state)) {
		while (logtail_next(tail, &record))
			note(test, &record);
		if (test->left > 0)
			poll(NULL, 0, LOOK_MS);
	}
}

/* Who has not taken it, and as far as it is known why. */
static int conclude(const struct test *test, const char *state)
{
	if (test->left == 0)
		return EXIT_SUCCESS;
	double waited = when_monotonic() - test->asked;

	if (!state_is_held(state))
		fputs("warmsided: the daemon ended meanwhile\n", stderr);
	if (!test->made)
		fprintf(stderr, "warmsided: the daemon made no test in %.0f s; its log may say why\n",
			waited);
	for (size_t i = 0; test->made && i < test->count; i++)
		if (!test->takers[i].took)
			fprintf(stderr, "warmsided: webhook \"%s\" has not taken the test in %.0f s; "
				"the daemon goes on trying, and its log says why\n",
				test->takers[i].name, waited);
	return EXIT_FAILURE;
}

/* False after a sentence on standard error. */
static bool leave(const char *state)
{
	struct asking asking = { .what = ASKED_TEST };
	char *folder = state_path(state, REQUESTS_FOLDER);

	asking_login(asking.by);

	bool left = asking_leave(folder, &asking);

	if (!left)
		fprintf(stderr, "warmsided: no request can be left in %s: %s%s\n", folder,
			strerror(errno),
			errno == EACCES ? "; members of its group may" : "");
	free(folder);
	return left;
}

static int run(struct test *test, const char *state)
{
	char *path = state_path(state, ALERTS_FILE);
	struct logtail tail;
	int status = EXIT_FAILURE;

	if (!logtail_begin(&tail, path)) {
		fprintf(stderr, "warmsided: %s cannot be read: %s\n", path, strerror(errno));
	} else if (leave(state)) {
		test->asked = when_monotonic();
		follow(test, &tail, state);
		status = conclude(test, state);
	}
	logtail_end(&tail);
	free(path);
	return status;
}

int testalert_run(const struct conf *conf, const char *path)
{
	struct test test = { 0 };
	char **names = conf_webhook_names(path, &test.count);
	int status = EXIT_FAILURE;

	test.left = test.count;
	test.takers = must_calloc(test.count, sizeof *test.takers);
	for (size_t i = 0; i < test.count; i++)
		test.takers[i].name = names[i];
	if (!conf->state)
		fprintf(stderr, "warmsided: %s names no state folder; "
			"state = \"/var/lib/warmside\" would\n", path);
	else if (test.count == 0)
		fprintf(stderr, "warmsided: %s has no webhook; nobody would be told\n", path);
	else if (!state_is_held(conf->state))
		fprintf(stderr, "warmsided: no daemon runs on %s; start it, then test it\n",
			conf->state);
	else
		status = run(&test, conf->state);
	for (size_t i = 0; i < test.count; i++)
		free(names[i]);
	free(names);
	free(test.takers);
	return status;
}
