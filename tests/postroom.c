/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A courier between an outbox and receivers; see postroom.h.
 */
#include "tests/cm.h"

#include "tests/postroom.h"

#include <fcntl.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <jansson.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/outbox.h"
#include "daemon/parcel.h"
#include "daemon/when.h"

enum { MOST_FILE = 16 << 20, PATIENCE = 20 /* s, for what is no matter of the test */ };

static const double beginning = 1767225600; /* 2026-01-01 */

void postroom_open(struct postroom *room)
{
	*room = (struct postroom){ .folder = "/tmp/warmside-courier-XXXXXX" };
	assert_non_null(mkdtemp(room->folder));
	snprintf(room->outbox, sizeof room->outbox, "%s/outbox", room->folder);
	assert_int_equal(mkdir(room->outbox, 0700), 0);
	room->conf.webhooks = room->webhooks;
	signal(SIGPIPE, SIG_IGN);
}

static void pause_a_little(void)
{
	poll(NULL, 0, 10);
}

/* ---- waiting -------------------------------------------------------------- */

static char *contents(const struct postroom *room, const char *name)
{
	char *path = must_print("%s/%s", room->folder, name);
	size_t size;
	char *text = file_read(path, MOST_FILE, &size);

	free(path);
	return text ? text : must_copy("");
}

static char *requests(const struct postroom *room, size_t webhook)
{
	char name[16];

	snprintf(name, sizeof name, "%zu.jsonl", webhook);
	return contents(room, name);
}

/* What is waited for. */
struct wish {
	bool (*come)(const struct postroom *room, const struct wish *wish);
	size_t webhook, count;
	const char *text;
	double most;
};

static double until(struct postroom *room, const struct wish *wish)
{
	double begin = when_monotonic();

	while (!wish->come(room, wish)) {
		if (when_monotonic() - begin > wish->most) {
			char *said = contents(room, "courier.err");

			fail_msg("waited %g s for \"%s\" %zu in vain; the courier said:\n%s", wish->most,
				 wish->text, wish->count, said);
		}
		pause_a_little();
	}
	return when_monotonic() - begin;
}

static bool received(const struct postroom *room, const struct wish *wish)
{
	char *text = requests(room, wish->webhook);
	size_t count = 0;

	for (const char *c = text; *c; c++)
		count += *c == '\n';
	free(text);
	return count >= wish->count;
}

static bool left(const struct postroom *room, const struct wish *wish)
{
	size_t count;
	char **names = outbox_list(room->outbox, &count);

	outbox_list_free(names, count);
	return count == wish->count;
}

static bool said(const struct postroom *room, const struct wish *wish)
{
	char *text = contents(room, "courier.err");
	bool found = strstr(text, wish->text) != NULL;

	free(text);
	return found;
}

double postroom_until_received(struct postroom *room, size_t webhook, size_t count, double most)
{
	return until(room, &(struct wish){ .come = received, .webhook = webhook, .count = count,
					  .text = "requests", .most = most });
}

double postroom_until_left(struct postroom *room, size_t count, double most)
{
	return until(room, &(struct wish){ .come = left, .count = count,
					  .text = "messages left", .most = most });
}

double postroom_until_said(struct postroom *room, const char *text, double most)
{
	return until(room, &(struct wish){ .come = said, .text = text, .most = most });
}

/* ---- webhooks and messages -------------------------------------------------- */

size_t postroom_webhook(struct postroom *room, const char *name, const char *endpoint)
{
	size_t index = room->conf.webhook_count++;

	assert_true(index < POSTROOM_HOOKS);
	room->webhooks[index] =
		(struct webhook){ .name = must_copy(name), .endpoint = must_copy(endpoint) };
	return index;
}

static void become_receiver(const char *log, const char *port, const char *const *options)
{
	const char *top = getenv("top_builddir");
	char *program = must_print("%s/tests/partner_hook", top ? top : ".");
	const char *words[24] = { program, "--log", log, "--port-file", port };
	size_t count = 5;

	for (; options && *options; options++)
		words[count++] = *options;
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	execv(program, (char *const *)words);
	perror(program);
	_exit(127);
}

static bool listens(const struct postroom *room, const struct wish *wish)
{
	char *port = contents(room, wish->text);
	bool there = *port != '\0';

	free(port);
	return there;
}

size_t postroom_receiver(struct postroom *room, const char *name, const char *const *options)
{
	size_t index = room->conf.webhook_count;
	char *log = must_print("%s/%zu.jsonl", room->folder, index);
	char *port = must_print("%s/%zu.port", room->folder, index);
	pid_t pid = fork();

	assert_true(pid >= 0);
	if (pid == 0)
		become_receiver(log, port, options);
	room->receivers[index] = pid;
	until(room, &(struct wish){ .come = listens, .text = strrchr(port, '/') + 1,
				   .most = PATIENCE });
	char *number = contents(room, strrchr(port, '/') + 1);
	char *endpoint = must_print("http://127.0.0.1:%ld/hook", strtol(number, NULL, 10));

	postroom_webhook(room, name, endpoint);
	free(endpoint);
	free(number);
	free(port);
	free(log);
	return index;
}

void postroom_put(struct postroom *room, double created, const char *webhook, const char *id)
{
	char type[] = "text/plain", body[] = "T3 too dry, 38 %";
	struct outgoing message = { .created = beginning + created, .content_type = type,
				    .body = body };

	snprintf(message.id, sizeof message.id, "%s", id);
	snprintf(message.alert, sizeof message.alert, "alert_1");
	snprintf(message.webhook, sizeof message.webhook, "%s", webhook);
	assert_true(outbox_add(room->outbox, &message));
}

char *postroom_ids(const struct postroom *room, size_t webhook)
{
	char *text = requests(room, webhook), *ids = must_copy(""), *rest = text, *line;

	while ((line = strsep(&rest, "\n")) && *line) {
		json_t *request = json_loads(line, 0, NULL);
		const char *id = json_string_value(
			json_object_get(json_object_get(request, "headers"), "webhook-id"));
		char *longer = must_print("%s%s ", ids, id ? id : "?");

		json_decref(request);
		free(ids);
		ids = longer;
	}
	free(text);
	return ids;
}

size_t postroom_posts_of(const struct postroom *room, size_t webhook, const char *id)
{
	char *ids = postroom_ids(room, webhook), *rest = ids, *word;
	size_t count = 0;

	while ((word = strsep(&rest, " ")))
		count += strcmp(word, id) == 0;
	free(ids);
	return count;
}

/* ---- the courier ------------------------------------------------------------- */

static void become_courier(const struct postroom *room, int wake, int result)
{
	char *path = must_print("%s/courier.err", room->folder);
	int fd = open(path, O_WRONLY | O_CREAT | O_APPEND, 0600);

	dup2(fd, STDERR_FILENO);
	close(room->wake);
	close(room->result);
	prctl(PR_SET_PDEATHSIG, SIGKILL);
	_exit(courier_run(&room->conf, room->outbox, wake, result));
}

void postroom_start(struct postroom *room)
{
	int wake[2], result[2];

	assert_int_equal(pipe(wake), 0);
	assert_int_equal(pipe(result), 0);
	room->wake = wake[1];
	room->result = result[0];
	room->courier = fork();
	assert_true(room->courier >= 0);
	if (room->courier == 0)
		become_courier(room, wake[0], result[1]);
	close(wake[0]);
	close(result[1]);
}

void postroom_wake(struct postroom *room)
{
	const struct parcel_head head = { .kind = PARCEL_WAKE };

	assert_int_equal(write(room->wake, &head, sizeof head), sizeof head);
}

static void end_courier(struct postroom *room)
{
	double begin = when_monotonic();
	int status;

	close(room->wake);
	while (waitpid(room->courier, &status, WNOHANG) == 0) {
		if (when_monotonic() - begin > PATIENCE) {
			kill(room->courier, SIGKILL);
			fail_msg("the courier does not end with its wake pipe");
		}
		pause_a_little();
	}
	close(room->result);
	assert_true(WIFEXITED(status));
	assert_int_equal(WEXITSTATUS(status), 0);
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
	(void)about;
	(void)kind;
	(void)walk;
	return remove(path);
}

void postroom_close(struct postroom *room)
{
	for (size_t i = 0; i < room->conf.webhook_count; i++) {
		if (room->receivers[i] > 0) {
			kill(room->receivers[i], SIGKILL);
			waitpid(room->receivers[i], NULL, 0);
		}
		free(room->webhooks[i].name);
		free(room->webhooks[i].endpoint);
	}
	if (room->courier > 0)
		end_courier(room);
	nftw(room->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS);
}
