/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long an alert is under way: from the moment at which the reading that
 * confirms it has been written to the port, to the first byte of the POST at
 * the receiver, beyond the gather time.  A whole daemon with its courier; this
 * program is the board behind the port and the receiver, and has one clock
 * for both.
 *
 *     bench_alert [ALERTS [GATHER_MS]]
 *
 * Each enclosure passes a limit in its turn (two readings confirm it) and
 * comes home again before the next one does, so that each alert is a message of
 * its own.
 */
#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "conf/memory.h"
#include "contrib/roomsim/pty.h"
#include "daemon/when.h"

enum {
	MOST = 1000,            /* alerts */
	REQUEST = 65536,        /* bytes */
	CLIENTS = 8,
};

static const double allowed = 0.050;    /* s, the worst */
static const double pause_between = 0.4; /* s: a reading this long after the one before */
static const double patience = 30;      /* s for one message */
static const char answer[] = "HTTP/1.1 204 No Content\r\nContent-Length: 0\r\n\r\n";

struct client {
	int fd;                 /* -1: none */
	double first;           /* when the request under way began; 0: none */
	char text[REQUEST];
	size_t used;
};

struct bench {
	char folder[64], *conf;
	struct pty board;
	int listener;
	struct client clients[CLIENTS];
	pid_t daemon;
	int alerts;
	double gather;          /* s */
	double raised;          /* first byte of the last message that tells of an alert; 0: none */
	size_t messages;
};

static void fail(const struct bench *b, const char *what)
{
	fprintf(stderr, "bench_alert: %s; see %s\n", what, b->folder);
	if (b->daemon > 0)
		kill(b->daemon, SIGTERM);
	exit(1);
}

/* ---- the receiver ------------------------------------------------------------ */

static unsigned listen_somewhere(struct bench *b)
{
	struct sockaddr_in address = { .sin_family = AF_INET,
				       .sin_addr.s_addr = htonl(INADDR_LOOPBACK) };
	socklen_t size = sizeof address;

	b->listener = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
	if (b->listener < 0 || bind(b->listener, (void *)&address, size) < 0 ||
	    listen(b->listener, CLIENTS) < 0 ||
	    getsockname(b->listener, (void *)&address, &size) < 0)
		fail(b, "no listener");
	for (int i = 0; i < CLIENTS; i++)
		b->clients[i].fd = -1;
	return ntohs(address.sin_port);
}

static void take_client(struct bench *b)
{
	int fd = accept4(b->listener, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);

	for (int i = 0; fd >= 0 && i < CLIENTS; i++)
		if (b->clients[i].fd < 0) {
			b->clients[i].fd = fd;
			b->clients[i].used = 0;
			b->clients[i].first = 0;
			return;
		}
	if (fd >= 0)
		fail(b, "too many connections");
}

/* Whether the request is there with its whole body. */
static bool is_whole(const struct client *client)
{
	const char *end = strstr(client->text, "\r\n\r\n");
	const char *length = end ? strcasestr(client->text, "content-length:") : NULL;

	return length && length < end &&
	       client->used >= (size_t)(end + 4 - client->text) + strtoul(length + 15, NULL, 10);
}

static void hear(struct bench *b, struct client *client)
{
	ssize_t got = read(client->fd, client->text + client->used, REQUEST - 1 - client->used);

	if (got <= 0) {
		if (got < 0 && errno == EAGAIN)
			return;
		close(client->fd);
		client->fd = -1;
		return;
	}
	if (client->first == 0)
		client->first = when_monotonic();
	client->used += (size_t)got;
	client->text[client->used] = '\0';
	if (!is_whole(client))
		return;
	if (write(client->fd, answer, sizeof answer - 1) < 0)
		fail(b, "no answer can be given");
	b->messages++;
	if (strstr(client->text, "\"type\":\"alert.raised\""))
		b->raised = client->first;
	client->used = 0;
	client->first = 0;
}

/* Listens until a message tells of an alert, or until that moment. */
static void listen_until(struct bench *b, double until, bool wanted)
{
	b->raised = 0;
	while (!(wanted && b->raised != 0) && when_monotonic() < until) {
		struct pollfd fds[CLIENTS + 1];

		for (int i = 0; i < CLIENTS; i++)
			fds[i] = (struct pollfd){ b->clients[i].fd, POLLIN, 0 };
		fds[CLIENTS] = (struct pollfd){ b->listener, POLLIN, 0 };
		poll(fds, CLIENTS + 1, (int)(1000 * (until - when_monotonic())) + 1);
		for (int i = 0; i < CLIENTS; i++)
			if (fds[i].revents)
				hear(b, &b->clients[i]);
		if (fds[CLIENTS].revents)
			take_client(b);
	}
}

/* ---- the daemon and its board ------------------------------------------------- */

static void write_conf(const struct bench *b, unsigned port)
{
	FILE *out = fopen(b->conf, "w");

	if (!out)
		fail(b, b->conf);
	fprintf(out,
		"state = \"%s/state\"\ngather = \"%gs\"\n"
		"archive { minutes = \"1d\"  ten_minutes = \"2d\"  hours = \"3d\" }\n"
		"bus \"board\" { port = \"%s/board\"  speaks = \"lines\"  "
		"line = \"{probe} {temperature}\"  every = \"1s\" }\n"
		"webhook \"phone\" { endpoint = \"http://127.0.0.1:%u/\"  body = \"json\" }\n",
		b->folder, b->gather, b->folder, port);
	for (int i = 0; i < b->alerts; i++)
		fprintf(out,
			"probe \"p%d\" { bus = \"board\" }\nenclosure \"E%d\" { warm_side { "
			"probe = \"p%d\"  temperature { day = \"24..26 C\"  limits = \"20..30 C\"  "
			"patience = \"10h\"  off_delay = \"0s\" } } }\n",
			i, i, i);
	fclose(out);
}

static void say(const struct bench *b, int probe, double celsius)
{
	char line[64];
	int length = snprintf(line, sizeof line, "p%d %.2f\n", probe, celsius);

	if (write(b->board.fd, line, (size_t)length) != length)
		fail(b, "the board is not heard");
}

static void start_daemon(struct bench *b)
{
	const char *built = getenv("top_builddir");
	char *program = must_print("%s/warmsided", built ? built : ".");
	char *log = must_print("%s/log", b->folder);

	b->daemon = fork();
	if (b->daemon == 0) {
		int fd = open(log, O_WRONLY | O_CREAT, 0644);

		dup2(fd, STDERR_FILENO);
		execl(program, program, "-c", b->conf, (char *)NULL);
		_exit(127);
	}
	free(program);
	free(log);
	for (double end = when_monotonic() + patience; !pty_listened(&b->board);) {
		if (when_monotonic() > end)
			fail(b, "the daemon does not open the board");
		usleep(10000);
	}
}

/* ---- the measure ---------------------------------------------------------------- */

/* s beyond the gather time. */
static double one_alert(struct bench *b, int probe)
{
	double side = probe % 2 ? 1 : -1, begun;

	say(b, probe, 25);
	listen_until(b, when_monotonic() + pause_between, false);
	say(b, probe, 25 + side * 7);
	listen_until(b, when_monotonic() + pause_between, false);
	if (b->raised != 0)
		fail(b, "one reading was enough for an alert");
	say(b, probe, 25 + side * 7.1);
	begun = when_monotonic();
	listen_until(b, begun + b->gather + patience, true);
	if (b->raised == 0)
		fail(b, "no message came");
	double taken = b->raised - begun - b->gather;

	/* Home, so that it is no matter of the whole room. */
	for (int i = 0; i < 3; i++) {
		say(b, probe, 25 + 0.1 * i);
		listen_until(b, when_monotonic() + pause_between, false);
	}
	/* That it is over must be told before the next one may be gathered by itself. */
	listen_until(b, when_monotonic() + b->gather + 1, false);
	return taken;
}

static int ascending(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

int main(int argc, char **argv)
{
	static struct bench b = { .folder = "/tmp/warmside-alert.XXXXXX", .daemon = -1 };
	static double taken[MOST];
	char *link, *command;

	b.alerts = argc > 1 ? (int)strtol(argv[1], NULL, 10) : 40;
	b.gather = argc > 2 ? strtod(argv[2], NULL) / 1000 : 0;
	if (b.alerts < 1 || b.alerts > MOST || !mkdtemp(b.folder))
		return 2;
	signal(SIGPIPE, SIG_IGN);
	b.conf = must_print("%s/room.conf", b.folder);
	link = must_print("%s/board", b.folder);
	write_conf(&b, listen_somewhere(&b));
	if (!pty_open(&b.board, link))
		return 1;
	start_daemon(&b);
	for (int i = 0; i < b.alerts; i++)
		taken[i] = one_alert(&b, i);
	kill(b.daemon, SIGTERM);
	listen_until(&b, when_monotonic() + 1, false);
	waitpid(b.daemon, NULL, 0);
	qsort(taken, (size_t)b.alerts, sizeof *taken, ascending);
	printf("%d alerts, gathered for %.1f s: from the reading that confirms to the first byte of "
	       "its POST, beyond that: median %.1f ms, 9 of 10 within %.1f ms, worst %.1f ms "
	       "(allowed %.0f ms)\n", b.alerts, b.gather, 1e3 * taken[b.alerts / 2],
	       1e3 * taken[b.alerts * 9 / 10], 1e3 * taken[b.alerts - 1], 1e3 * allowed);
	pty_close(&b.board);
	command = must_print("rm -rf '%s'", b.folder);
	int status = system(command);

	free(command);
	free(link);
	free(b.conf);
	return status != 0 || taken[b.alerts - 1] > allowed;
}
