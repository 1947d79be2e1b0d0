/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An HTTP receiver that misbehaves on command: the webhook's other end in
 * whole-program tests and in the demo.  It listens on 127.0.0.1 at a port
 * the system picks (or the one it is told), writes every whole request to a file as one JSON line
 * {"path", "headers", "body", "answer"}, and answers by a list of behaviours,
 * one a request, then with 200; a webhook-id may have an answer of its own,
 * always the same.  One poll loop, so a connection left hanging holds up no
 * other.
 */
#include <errno.h>
#include <fcntl.h>
#include <getopt.h>
#include <math.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <jansson.h>

#include "conf/memory.h"
#include "tests/hook_answers.h"

enum { MOST_CLIENTS = 64, MOST_REQUEST = 1 << 18, MOST_OWN = 8 };

struct client {
	int fd;                 /* -1: a free slot */
	char *heard;            /* owned; always terminated */
	size_t count;
	bool answered;          /* nothing more is read, only the end awaited */
	double answer_at;       /* monotonic s; 0: no answer is due */
	struct answer answer;   /* owned */
	size_t sent;            /* of the text, or of the next pad */
};

struct receiver {
	int listener;
	FILE *log;
	char *answers;          /* owned: what is left of the list */
	char *next;
	const char *const *own; /* "ID=ANSWER" */
	size_t own_count;
	struct client clients[MOST_CLIENTS];
};

static double now(void)
{
	struct timespec clock;

	clock_gettime(CLOCK_MONOTONIC, &clock);
	return (double)clock.tv_sec + (double)clock.tv_nsec / 1e9;
}

static void forget(struct client *client)
{
	close(client->fd);
	free(client->heard);
	free(client->answer.text);
	*client = (struct client){ .fd = -1 };
}

/* ---- one request -------------------------------------------------------- */

/* The value of a header in the head of a request, or NULL. */
static const char *header(const char *head, const char *name)
{
	size_t length = strlen(name);

	for (const char *line = strstr(head, "\r\n"); line; line = strstr(line + 2, "\r\n"))
		if (strncasecmp(line + 2, name, length) == 0 && line[2 + length] == ':')
			return line + 3 + length + strspn(line + 3 + length, " ");
	return NULL;
}

/* Names in small letters, since their case means nothing in HTTP. */
static json_t *headers_to_json(const char *head, const char *end)
{
	json_t *headers = json_object();
	const char *line = strstr(head, "\r\n");

	while (line && line + 2 < end) {
		const char *name = line + 2, *stop = strstr(name, "\r\n");
		const char *colon = memchr(name, ':', (size_t)(stop - name));

		if (colon) {
			char *key = strndup(name, (size_t)(colon - name));
			const char *value = colon + 1 + strspn(colon + 1, " ");

			for (char *c = key; *c; c++)
				*c = (char)(*c >= 'A' && *c <= 'Z' ? *c + 32 : *c);
			json_object_set_new(headers, key,
					    json_stringn(value, (size_t)(stop - value)));
			free(key);
		}
		line = stop;
	}
	return headers;
}

static void log_request(struct receiver *receiver, const struct client *client, const char *body,
			const char *answer)
{
	const char *space = strchr(client->heard, ' ');
	size_t path = space ? strcspn(space + 1, " \r\n") : 0;
	size_t length = client->count - (size_t)(body - client->heard);
	json_t *body_json = json_stringn(body, length);
	json_t *line = json_pack("{s:s%, s:o, s:o, s:s}", "path", space ? space + 1 : "", path,
				 "headers", headers_to_json(client->heard, body - 2), "body",
				 body_json ? body_json : json_null(), "answer", answer);

	json_dumpf(line, receiver->log, JSON_COMPACT);
	fputc('\n', receiver->log);
	fflush(receiver->log);
	json_decref(line);
}

/* ---- the answers -------------------------------------------------------- */

static void reset(struct client *client)
{
	struct linger at_once = { .l_onoff = 1, .l_linger = 0 };

	setsockopt(client->fd, SOL_SOCKET, SO_LINGER, &at_once, sizeof(at_once));
	forget(client);
}

static void behave(struct client *client, const char *word)
{
	client->answer = answer_of(word);
	if (client->answer.resets)
		reset(client);
	else if (!client->answer.hangs)
		client->answer_at = now() + client->answer.delay;
}

/* What a webhook-id is always answered, or NULL. */
static const char *own_answer(const struct receiver *receiver, const char *head)
{
	const char *id = header(head, "webhook-id");
	size_t length = id ? strcspn(id, "\r\n") : 0;

	for (size_t i = 0; id && i < receiver->own_count; i++)
		if (strncmp(receiver->own[i], id, length) == 0 && receiver->own[i][length] == '=')
			return receiver->own[i] + length + 1;
	return NULL;
}

static const char *next_answer(struct receiver *receiver)
{
	const char *word = receiver->next ? strsep(&receiver->next, ",") : NULL;

	return word ? word : "200";
}

/* Is the request whole?  Then it is logged and answered. */
static void consider(struct receiver *receiver, struct client *client)
{
	char *end = strstr(client->heard, "\r\n\r\n");
	const char *length, *word;

	if (!end)
		return;
	length = header(client->heard, "content-length");
	if (length && client->count - (size_t)(end + 4 - client->heard) < strtoul(length, NULL, 10))
		return;
	client->answered = true;
	word = own_answer(receiver, client->heard);
	if (!word)
		word = next_answer(receiver);
	log_request(receiver, client, end + 4, word);
	behave(client, word);
}

/* ---- connections -------------------------------------------------------- */

static void welcome(struct receiver *receiver)
{
	int fd = accept4(receiver->listener, NULL, NULL, SOCK_NONBLOCK | SOCK_CLOEXEC);

	if (fd < 0)
		return;
	for (size_t i = 0; i < MOST_CLIENTS; i++)
		if (receiver->clients[i].fd < 0) {
			receiver->clients[i].fd = fd;
			receiver->clients[i].heard = must_calloc(MOST_REQUEST + 1, 1);
			return;
		}
	close(fd);
}

static void hear(struct receiver *receiver, struct client *client)
{
	ssize_t got = read(client->fd, client->heard + client->count, MOST_REQUEST - client->count);

	if (got < 0 && (errno == EAGAIN || errno == EINTR))
		return;
	if (got <= 0) {
		forget(client); /* gone, or too long to be ours */
		return;
	}
	if (client->answered)
		return;
	client->count += (size_t)got;
	client->heard[client->count] = '\0';
	consider(receiver, client);
}

/* Sends the rest of a text; false when the other end takes no more now. */
static bool send_text(struct client *client, const char *text)
{
	size_t length = strlen(text);

	while (client->sent < length) {
		ssize_t sent = send(client->fd, text + client->sent, length - client->sent,
				    MSG_NOSIGNAL);

		if (sent < 0 && errno != EINTR)
			return false;
		client->sent += sent < 0 ? 0 : (size_t)sent;
	}
	client->sent = 0;
	return true;
}

static void send_due(struct client *client)
{
	struct answer *answer = &client->answer;

	if (client->fd < 0 || client->answer_at == 0 || now() < client->answer_at)
		return;
	if (answer->text && !send_text(client, answer->text))
		return;
	free(answer->text);
	answer->text = NULL;
	for (; answer->pads > 0; answer->pads--)
		if (!send_text(client, answer->pad))
			return;
	if (!answer->stays)
		shutdown(client->fd, SHUT_WR);
	client->answer_at = 0; /* closed when the other end has */
}

/* Is it in the middle of its answer? */
static bool sends(const struct client *client)
{
	return client->fd >= 0 && client->answer_at > 0 && client->answer_at <= now();
}

/* ms until the next answer is due; -1 for ever. */
static int pause_ms(const struct receiver *receiver)
{
	double due = 0;

	for (size_t i = 0; i < MOST_CLIENTS; i++) {
		double at = receiver->clients[i].answer_at;

		if (at > now() && (due == 0 || at < due))
			due = at;
	}
	if (due == 0)
		return -1;
	return (int)(fmax(due - now(), 0) * 1000) + 1;
}

static void loop(struct receiver *receiver)
{
	for (;;) {
		struct pollfd wait[MOST_CLIENTS + 1];

		for (size_t i = 0; i < MOST_CLIENTS; i++)
			wait[i] = (struct pollfd){ receiver->clients[i].fd,
						   sends(&receiver->clients[i])
							   ? POLLIN | POLLOUT
							   : POLLIN,
						   0 };
		wait[MOST_CLIENTS] = (struct pollfd){ receiver->listener, POLLIN, 0 };
		if (poll(wait, MOST_CLIENTS + 1, pause_ms(receiver)) < 0 && errno != EINTR)
			return;
		for (size_t i = 0; i < MOST_CLIENTS; i++)
			if (wait[i].revents & ~POLLOUT)
				hear(receiver, &receiver->clients[i]);
		for (size_t i = 0; i < MOST_CLIENTS; i++)
			send_due(&receiver->clients[i]);
		if (wait[MOST_CLIENTS].revents)
			welcome(receiver);
	}
}

/* ---- birth -------------------------------------------------------------- */

/* At *port, or when that is 0 at one the system picks. */
static int listen_here(int *port)
{
	struct sockaddr_in address = { .sin_family = AF_INET,
				       .sin_port = htons((uint16_t)*port),
				       .sin_addr.s_addr = htonl(INADDR_LOOPBACK) };
	socklen_t size = sizeof(address);
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

	if (fd >= 0)
		setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &(int){ 1 }, sizeof(int));
	if (fd < 0 || bind(fd, (struct sockaddr *)&address, size) != 0 || listen(fd, 64) != 0 ||
	    getsockname(fd, (struct sockaddr *)&address, &size) != 0)
		return -1;
	*port = ntohs(address.sin_port);
	return fd;
}

/* Written aside and renamed: whoever sees the file sees the whole number. */
static bool tell_port(const char *path, int port)
{
	char *aside = must_print("%s.new", path);
	FILE *file = fopen(aside, "w");
	bool told = file && fprintf(file, "%d\n", port) > 0;

	told = file && fclose(file) == 0 && told && rename(aside, path) == 0;
	free(aside);
	return told;
}

/* Is every word of the list one we can act? */
static bool known_answers(const char *list)
{
	bool known = true;
	char *copy = must_copy(list), *rest = copy;

	for (const char *word = strsep(&rest, ","); word; word = strsep(&rest, ",")) {
		if (!answer_known(word)) {
			fprintf(stderr, "partner_hook: '%s' is no answer\n", word);
			known = false;
		}
	}
	free(copy);
	return known;
}

static int complain(const char *what)
{
	fprintf(stderr, "partner_hook: %s: %s\n", what, strerror(errno));
	return 1;
}

static int usage(void)
{
	fputs("usage: partner_hook --log FILE --port-file FILE [--port PORT]\n"
	      "                    [--answers LIST] [--for ID=ANSWER]...\n"
	      "LIST: answers with commas between, one a request; then 200\n"
	      "ANSWER: to every request of that webhook-id; any of\n" ANSWER_HELP, stderr);
	return 2;
}

static int receive(struct receiver receiver, const char *log_path, const char *port_path,
		   const char *answers, int port)
{
	for (size_t i = 0; i < MOST_CLIENTS; i++)
		receiver.clients[i].fd = -1;
	receiver.next = receiver.answers = answers ? must_copy(answers) : NULL;
	receiver.log = fopen(log_path, "ae");
	if (!receiver.log)
		return complain(log_path);
	receiver.listener = listen_here(&port);
	if (receiver.listener < 0)
		return complain("no port to listen on");
	if (!tell_port(port_path, port))
		return complain(port_path);
	loop(&receiver);
	return complain("the loop ended");
}

int main(int argc, char **argv)
{
	static const struct option longs[] = { { "log", required_argument, NULL, 'l' },
					       { "port-file", required_argument, NULL, 'p' },
					       { "port", required_argument, NULL, 'n' },
					       { "answers", required_argument, NULL, 'a' },
					       { "for", required_argument, NULL, 'f' },
					       { 0 } };
	const char *log_path = NULL, *port_path = NULL, *answers = NULL, *own[MOST_OWN];
	struct receiver receiver = { .own = own };
	int letter, port = 0;

	while ((letter = getopt_long(argc, argv, "", longs, NULL)) != -1)
		if (letter == 'l')
			log_path = optarg;
		else if (letter == 'p')
			port_path = optarg;
		else if (letter == 'a')
			answers = optarg;
		else if (letter == 'n')
			port = (int)strtol(optarg, NULL, 10);
		else if (letter == 'f' && receiver.own_count < MOST_OWN && strchr(optarg, '='))
			own[receiver.own_count++] = optarg;
		else
			return usage();
	if (!log_path || !port_path || optind < argc)
		return usage();
	if (answers && !known_answers(answers))
		return 2;
	for (size_t i = 0; i < receiver.own_count; i++)
		if (!known_answers(strchr(own[i], '=') + 1))
			return 2;
	return receive(receiver, log_path, port_path, answers, port);
}
