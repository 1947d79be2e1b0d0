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

#include <jansson.h>

#include "conf/asking.h"
#include "conf/layout.h"
#include "conf/load.h"
#include "conf/lockfile.h"
#include "conf/logtail.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/delivery.h"
#include "daemon/when.h"

enum {
	PATIENCE = 60,          /* s */
	LOOK_MS = 50,
	NOW_CEILING = 16 << 20, /* bytes */
};

static const double look_aside_every = 0.25; /* s between two looks at what webhooks answer */

/* A webhook that is to take the test. */
struct taker {
	const char *name;
	bool took, refused;     /* it is over for this one */
	char why[DELIVERY_WHY]; /* why it has not taken it yet, or "" */
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
		test->left -= !taker->refused; /* it may have thought better of it */
		taker->took = true;
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

/* What the daemon knows of a webhook that has not taken it. */
static void note_answer(struct test *test, struct taker *taker, json_t *webhook)
{
	const char *refused = json_string_value(json_object_get(webhook, "refused"));
	const char *why = json_string_value(json_object_get(webhook, "trouble"));

	if (why && !*taker->why && !refused)
		printf("webhook \"%s\" has not taken it yet: %s\n", taker->name, why);
	fflush(stdout);
	snprintf(taker->why, sizeof taker->why, "%s", why ? why : "");
	/* One that wants no more is not even asked with this one. */
	if (!(refused && strcmp(refused, test->message) == 0) &&
	    !json_is_true(json_object_get(webhook, "gone")))
		return;
	taker->refused = true;
	test->left--;
}

static void look_aside(struct test *test, const char *path)
{
	size_t size, index;
	char *text = test->made ? file_read(path, NOW_CEILING, &size) : NULL;
	json_t *whole = text ? json_loadb(text, size, 0, NULL) : NULL, *webhook;

	json_array_foreach(json_object_get(whole, "webhooks"), index, webhook) {
		const char *name = json_string_value(json_object_get(webhook, "name"));

		for (size_t i = 0; name && i < test->count; i++)
			if (!test->takers[i].took && !test->takers[i].refused &&
			    strcmp(test->takers[i].name, name) == 0)
				note_answer(test, &test->takers[i], webhook);
	}
	json_decref(whole);
	free(text);
}

static void follow(struct test *test, struct logtail *tail, const char *state)
{
	struct alert_record record;
	char *path = state_path(state, NOW_FILE);
	double aside = test->asked;

	while (test->left > 0 && when_monotonic() - test->asked < PATIENCE &&
	       state_is_held(state)) {
		while (logtail_next(tail, &record))
			note(test, &record);
		if (when_monotonic() >= aside) {
			look_aside(test, path);
			aside = when_monotonic() + look_aside_every;
		}
		if (test->left > 0)
			poll(NULL, 0, LOOK_MS);
	}
	free(path);
}

static void say_not_taken(const struct taker *taker, double waited)
{
	if (taker->refused)
		fprintf(stderr, "warmsided: webhook \"%s\" refuses the test: %s\n", taker->name,
			taker->why);
	else if (*taker->why)
		fprintf(stderr, "warmsided: webhook \"%s\" has not taken the test in %.0f s, and the "
			"daemon goes on trying: %s\n", taker->name, waited, taker->why);
	else
		fprintf(stderr, "warmsided: webhook \"%s\" has not taken the test in %.0f s; the "
			"daemon goes on trying, and its log says why\n", taker->name, waited);
}

/* Who has not taken it, and as far as it is known why. */
static int conclude(const struct test *test, const char *state)
{
	double waited = when_monotonic() - test->asked;
	bool all = test->made;

	for (size_t i = 0; i < test->count; i++)
		all &= test->takers[i].took;
	if (all)
		return EXIT_SUCCESS;
	if (!state_is_held(state))
		fputs("warmsided: the daemon ended meanwhile\n", stderr);
	if (!test->made)
		fprintf(stderr, "warmsided: the daemon made no test in %.0f s; its log may say why\n",
			waited);
	for (size_t i = 0; test->made && i < test->count; i++)
		if (!test->takers[i].took)
			say_not_taken(&test->takers[i], waited);
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
