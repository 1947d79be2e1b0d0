/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A courier between an outbox and receivers; see postroom.h.
 */
#include "tests/cm.h"

#include "tests/postroom.h"

#include <fcntl.h>
#include <ftw.h>
#include <netinet/in.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/outbox.h"
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
			fail_msg("waited %g s for \"%s\" %zu in vain; the courier said:\n%s", wish->most,
				 wish->text, wish->count, contents(room, "courier.err"));
		}
		poll(NULL, 0, 10);
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
	char *text = postroom_said(room);
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

char *postroom_said(const struct postroom *room)
{
	return contents(room, "courier.err");
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

/* Starts one that logs for this webhook; its port comes into *number. */
static void start_receiver(struct postroom *room, size_t index, const char *const *options,
			   long *number)
{
	char *log = must_print("%s/%zu.jsonl", room->folder, index);
	char *port = must_print("%s/%zu.port", room->folder, index);
	pid_t pid = room->receivers[index] = fork();

	assert_true(pid >= 0);
	if (pid == 0)
		become_receiver(log, port, options);
	until(room, &(struct wish){ .come = listens, .text = strrchr(port, '/') + 1,
				   .most = PATIENCE });
	char *text = contents(room, strrchr(port, '/') + 1);

	*number = strtol(text, NULL, 10);
	free(text);
	free(port);
	free(log);
}

size_t postroom_receiver(struct postroom *room, const char *name, const char *const *options)
{
	size_t index = room->conf.webhook_count;
	long number;

	start_receiver(room, index, options, &number);
	char *endpoint = must_print("http://127.0.0.1:%ld/hook", number);

	postroom_webhook(room, name, endpoint);
	free(endpoint);
	return index;
}

int postroom_closed_port(struct postroom *room)
{
	struct sockaddr_in address = { .sin_family = AF_INET,
				       .sin_addr.s_addr = htonl(INADDR_LOOPBACK) };
	socklen_t size = sizeof address;
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

	assert_true(fd >= 0); /* bound and not listening */
	assert_int_equal(bind(fd, (struct sockaddr *)&address, size), 0);
	assert_int_equal(getsockname(fd, (struct sockaddr *)&address, &size), 0);
	room->closed = fd;
	return ntohs(address.sin_port);
}

void postroom_listen(struct postroom *room, size_t webhook, int port)
{
	char *number = must_print("%d", port);
	const char *const options[] = { "--port", number, NULL };
	long same;

	close(room->closed);
	room->closed = 0;
	start_receiver(room, webhook, options, &same);
	assert_int_equal(same, port);
	free(number);
}

static void fill(struct outgoing *message, double created, const char *webhook, const char *id,
		 const char *alerts)
{
	char *copy = must_copy(alerts), *rest = copy, *word;

	*message = (struct outgoing){
		.created = beginning + created,
		.content_type = must_copy("text/plain"),
		.body = must_copy("T3 too dry, 38 %"),
		.title = must_print("Title of %s", id),
		.parts = must_calloc(strlen(alerts) + 1, sizeof *message->parts),
	};
	snprintf(message->id, sizeof message->id, "%s", id);
	snprintf(message->alert, sizeof message->alert, "alert_1");
	snprintf(message->webhook, sizeof message->webhook, "%s", webhook);
	while ((word = strsep(&rest, " ")) && *word) {
		struct outgoing_part *part = &message->parts[message->part_count++];

		part->cleared = *word == '-';
		snprintf(part->alert, sizeof part->alert, "%s", word + part->cleared);
	}
	if (message->part_count > 0)
		memcpy(message->alert, message->parts[0].alert, sizeof message->alert);
	free(copy);
}

void postroom_tell(struct postroom *room, double created, const char *webhook, const char *id,
		   const char *alerts)
{
	struct outgoing message;

	fill(&message, created, webhook, id, alerts);
	assert_true(outbox_add(room->outbox, &message));
	outgoing_clear(&message);
}

char *postroom_text(double created, const char *webhook, const char *id, const char *alerts,
		    char **name)
{
	struct outgoing message;

	fill(&message, created, webhook, id, alerts);
	char *text = outgoing_text(&message);

	if (name)
		*name = outbox_name(&message);
	outgoing_clear(&message);
	return text;
}

void postroom_put(struct postroom *room, double created, const char *webhook, const char *id)
{
	postroom_tell(room, created, webhook, id, "");
}

json_t *postroom_requests(const struct postroom *room, size_t webhook)
{
	char *text = requests(room, webhook), *rest = text, *line;
	json_t *list = json_array();

	while ((line = strsep(&rest, "\n")) && *line)
		json_array_append_new(list, json_loads(line, 0, NULL));
	free(text);
	return list;
}

char *postroom_ids(const struct postroom *room, size_t webhook)
{
	json_t *list = postroom_requests(room, webhook), *request;
	char *ids = NULL;
	size_t size, index;
	FILE *out = open_memstream(&ids, &size);

	json_array_foreach(list, index, request) {
		const char *id = json_string_value(
			json_object_get(json_object_get(request, "headers"), "webhook-id"));

		fprintf(out, "%s ", id ? id : "?");
	}
	fclose(out);
	json_decref(list);
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
	free(path);
	close(room->wake);
	close(room->result);
	if (room->closed > 0)
		close(room->closed);
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

void postroom_hand(struct postroom *room, enum parcel_kind kind, const char *text)
{
	struct parcel_out parcel = { 0 };

	assert_true(parcel_wrap(&parcel, kind, text));
	assert_true(parcel_give(&parcel, room->wake));
}

void postroom_wake(struct postroom *room)
{
	postroom_hand(room, PARCEL_WAKE, "");
}

struct courier_result postroom_word(struct postroom *room)
{
	struct pollfd ready = { .fd = room->result, .events = POLLIN };
	struct courier_result result;

	assert_int_equal(poll(&ready, 1, PATIENCE * 1000), 1);
	assert_int_equal(read(room->result, &result, sizeof result), sizeof result);
	return result;
}

void postroom_expect(struct postroom *room, enum courier_word word, long status,
		     const char *message)
{
	struct courier_result result = postroom_word(room);

	if (result.word != word || result.status != status)
		fail_msg("the courier's word is %d (%ld) of %s, not %d (%ld) of %s", result.word,
			 result.status, result.message, word, status, message);
	if (*message)
		assert_string_equal(result.message, message);
}

size_t postroom_memory(const struct postroom *room, const char *what)
{
	char *path = must_print("/proc/%d/status", (int)room->courier);
	size_t size;
	char *text = file_read(path, 1 << 16, &size);

	assert_non_null(text);
	const char *line = strstr(text, what);

	size_t figure = strtoul(line + strlen(what) + 1, NULL, 10);

	free(text);
	free(path);
	return figure;
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
		poll(NULL, 0, 10);
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
	if (room->closed > 0)
		close(room->closed);
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
