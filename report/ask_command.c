/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside shelve and warmside ack: what the keeper asks of the watch.
 */
#include <stdlib.h>
#include <string.h>

#include "conf/layout.h"
#include "conf/measure.h"
#include "report/alerts_text.h"
#include "report/ask.h"
#include "report/gather.h"

/* What the log said before, and its end, from where it is followed. */
struct before {
	struct logtail tail;
	struct alerts alerts;
};

/* The log is followed from before it is read, so that nothing falls between.
 * False after a sentence on standard error. */
static bool look_before(const struct request *request, struct before *before)
{
	const struct window nothing = { request->now, request->now };
	char *path = state_path(request->conf->state, ALERTS_FILE);

	logtail_begin(&before->tail, path); /* alerts_load says why not */
	free(path);
	if (alerts_load(request->conf->state, nothing, &before->alerts))
		return true;
	logtail_end(&before->tail);
	return false;
}

static void before_clear(struct before *before)
{
	logtail_end(&before->tail);
	alerts_clear(&before->alerts);
}

/* When it was not done: why.  The exit status. */
static int say_undone(const struct request *request, enum ask_result result)
{
	if (result == ASK_WAITS) {
		terminal_say(request->terminal, 0,
			     "The request waits for warmsided, which does not run at the moment.");
		return DONE;
	}
	if (result == ASK_UNANSWERED)
		fputs("warmside: the request was left, but warmsided has not answered it; its log "
		      "may say why\n", stderr);
	return FAILED;
}

/* ---- shelve ------------------------------------------------------------------- */

/* What the log must say of it. */
struct shelving {
	const char *enclosure;
	enum event event;
	struct alert_record record; /* it did */
};

static bool shelving_settles(void *context, const struct alert_record *record)
{
	struct shelving *shelving = context;

	if (record->event != shelving->event ||
	    strcmp(record->enclosure, shelving->enclosure) != 0)
		return false;
	shelving->record = *record;
	return true;
}

/* A duration, or none of any unit, which ends the shelving. */
static bool read_duration(const char *text, double *seconds)
{
	static const char *const none[] = { "0", "0s", "0min", "0h" };

	for (size_t i = 0; i < sizeof none / sizeof *none; i++)
		if (strcmp(text, none[i]) == 0) {
			*seconds = 0;
			return true;
		}
	if (!parse_duration(text, seconds)) {
		fprintf(stderr, "warmside: \"%s\" is no duration; write for example 90min, 2h, or "
			"0s to end it\n", text);
		return false;
	}
	if (*seconds > SHELVE_MOST) {
		fprintf(stderr, "warmside: an enclosure can be shelved for 24 h at most; for longer "
			"put it out of service in the configuration\n");
		return false;
	}
	return true;
}

static bool is_shelved(const struct before *before, const char *enclosure, double now)
{
	for (size_t i = 0; i < before->alerts.shelved.count; i++) {
		const struct alert_record *record = &before->alerts.shelved.list[i];

		if (strcmp(record->enclosure, enclosure) == 0)
			return record->has_until && record->until > now;
	}
	return false;
}

static int say_shelving(const struct request *request, const struct shelving *shelving)
{
	char *until = time_text(shelving->record.until, request->now);

	if (shelving->event == SHELVED)
		terminal_print(request->terminal, 0, "%s: shelved until %s", shelving->enclosure,
			       until);
	else
		terminal_print(request->terminal, 0, "%s: no longer shelved", shelving->enclosure);
	free(until);
	return DONE;
}

int shelve_command(const struct request *request)
{
	const struct enclosure *enclosure = enclosure_named(request->conf, request->words[0]);
	struct asking asking = { .what = ASKED_SHELVE };
	struct before before;
	int status;

	if (!enclosure || !read_duration(request->words[1], &asking.seconds) ||
	    !ask_author(request, &asking))
		return USAGE;
	memcpy(asking.enclosure, enclosure->name, strlen(enclosure->name) + 1);
	if (!look_before(request, &before))
		return FAILED;
	if (asking.seconds == 0 && !is_shelved(&before, enclosure->name, request->now)) {
		terminal_print(request->terminal, 0, "%s: is not shelved", enclosure->name);
		status = DONE;
	} else {
		struct shelving shelving = { .enclosure = enclosure->name,
					     .event = asking.seconds > 0 ? SHELVED : UNSHELVED };
		enum ask_result result = ask(request, &asking, &before.tail, shelving_settles,
					     &shelving);

		status = result == ASK_DONE ? say_shelving(request, &shelving)
					    : say_undone(request, result);
	}
	before_clear(&before);
	return status;
}

/* ---- ack ---------------------------------------------------------------------- */

struct seeing {
	const char *enclosure;  /* "": everything */
	struct alert_lives *standing; /* what is to be acknowledged is not, yet */
	size_t left;            /* so many are not */
	size_t seen;            /* acknowledged since */
};

static bool is_meant(const struct seeing *seeing, const struct alert_record *record)
{
	return !*seeing->enclosure || strcmp(record->enclosure, seeing->enclosure) == 0;
}

/* How many stand there at all. */
static size_t count_standing(struct seeing *seeing)
{
	size_t count = 0;

	for (size_t i = 0; i < seeing->standing->count; i++)
		if (is_meant(seeing, &seeing->standing->list[i].last)) {
			count++;
			seeing->left += !seeing->standing->list[i].acknowledged;
		}
	return count;
}

/* True when nothing is left to wait for: acknowledged, or over meanwhile. */
static bool seeing_settles(void *context, const struct alert_record *record)
{
	struct seeing *seeing = context;

	if (!is_meant(seeing, record) ||
	    (record->event != ACKNOWLEDGED && record->event != CLEARED))
		return false;
	seeing->seen += record->event == ACKNOWLEDGED;
	for (size_t i = 0; i < seeing->standing->count; i++) {
		struct alert_life *life = &seeing->standing->list[i];

		if (!life->acknowledged && strcmp(life->last.id, record->id) == 0) {
			life->acknowledged = true;
			seeing->left--;
		}
	}
	return seeing->left == 0;
}

/* What stands between the enclosure's name and what is said of it; nothing
 * when everything is meant. */
static const char *colon(const struct seeing *seeing)
{
	return *seeing->enclosure ? ": " : "";
}

static int say_seen(const struct request *request, const struct seeing *seeing,
		    enum ask_result result)
{
	if (result != ASK_DONE && (result != ASK_UNANSWERED || seeing->seen == 0))
		return say_undone(request, result);
	terminal_print(request->terminal, 0, "%s%s%zu alert%s acknowledged", seeing->enclosure,
		       colon(seeing), seeing->seen, seeing->seen == 1 ? "" : "s");
	return DONE;
}

static int say_nothing_to_see(const struct request *request, const struct seeing *seeing,
			      size_t standing)
{
	if (standing == 0)
		terminal_print(request->terminal, 0,
			       "%s%snothing stands, so there is nothing to acknowledge",
			       seeing->enclosure, colon(seeing));
	else
		terminal_print(request->terminal, 0,
			       "%s%snothing to acknowledge: what stands (%zu) is acknowledged "
			       "already", seeing->enclosure, colon(seeing), standing);
	return DONE;
}

int ack_command(const struct request *request)
{
	struct asking asking = { .what = ASKED_ACK };
	struct before before;

	if (request->word_count == 1) {
		const struct enclosure *enclosure = enclosure_named(request->conf,
								    request->words[0]);

		if (!enclosure)
			return USAGE;
		memcpy(asking.enclosure, enclosure->name, strlen(enclosure->name) + 1);
	}
	if (!ask_author(request, &asking))
		return USAGE;
	if (!look_before(request, &before))
		return FAILED;
	struct seeing seeing = { .enclosure = asking.enclosure,
				 .standing = &before.alerts.standing };
	size_t standing = count_standing(&seeing);
	int status = seeing.left == 0
			     ? say_nothing_to_see(request, &seeing, standing)
			     : say_seen(request, &seeing, ask(request, &asking, &before.tail,
							      seeing_settles, &seeing));

	before_clear(&before);
	return status;
}
