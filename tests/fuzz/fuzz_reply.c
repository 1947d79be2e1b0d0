/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any bytes as a webhook's answer: a real post, through libcurl, to a listening
 * socket of this very process.  Input: a byte, how the answer comes (at once or in two pieces; with
 * or without the end of the connection); the answer.
 */
#include "tests/fuzz/fuzz.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/delivery.h"

enum { ROUNDS_MOST = 100, SAID_MOST = 8192 };

static const double patience = 0.0002; /* s: a round of waiting */
static const char secret_path[] = "/very-secret-path";

/* The server's end, and the hand that lets its port go at once: it may be used
 * some hundred thousand times. */
static int listen_here(char **endpoint)
{
	struct sockaddr_in here = { .sin_family = AF_INET,
				    .sin_addr.s_addr = htonl(INADDR_LOOPBACK) };
	socklen_t size = sizeof here;
	int fd = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);

	fuzz_holds(fd >= 0 && bind(fd, (struct sockaddr *)&here, sizeof here) == 0 &&
		   listen(fd, 8) == 0 && getsockname(fd, (struct sockaddr *)&here, &size) == 0);
	*endpoint = must_print("http://127.0.0.1:%d%s", ntohs(here.sin_port), secret_path);
	return fd;
}

static void hang_up(int fd)
{
	const struct linger at_once = { .l_onoff = 1 };

	setsockopt(fd, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
	close(fd);
}

static void say(int fd, struct fuzz_bytes said)
{
	/* Whoever has heard enough may be gone. */
	if (said.left && send(fd, said.at, said.left, MSG_NOSIGNAL) < 0)
		fuzz_holds(errno == EPIPE || errno == ECONNRESET || errno == EAGAIN);
}

/* Accepts, says it, and ends it once there is nothing more to say. */
struct server {
	int listening, talking; /* -1: nobody has come yet */
	struct fuzz_bytes first, rest;
	bool open;              /* the connection is left open at first */
	int rounds;
};

static void serve(struct server *server)
{
	if (server->talking < 0)
		server->talking = accept4(server->listening, NULL, NULL,
					  SOCK_NONBLOCK | SOCK_CLOEXEC);
	if (server->talking < 0)
		return;
	switch (server->rounds++) {
	case 0:
		say(server->talking, server->first);
		break;
	case 1:
		say(server->talking, server->rest);
		if (!server->open)
			shutdown(server->talking, SHUT_WR);
		break;
	case 4:
		shutdown(server->talking, SHUT_WR);
		break;
	default:
		break;
	}
}

static bool is_digit(uint8_t byte)
{
	return byte >= '0' && byte <= '9';
}

/* The status of an answer that nobody could misread; 0: it is none. */
static long plain_status(struct fuzz_bytes said)
{
	static const char version[] = "HTTP/1.1 ";
	size_t length = sizeof version - 1;

	if (said.left < length + 7 || memcmp(said.at, version, length) != 0 ||
	    memcmp(said.at + length + 3, "\r\n\r\n", 4) != 0)
		return 0;
	for (size_t i = 0; i < 3; i++)
		if (!is_digit(said.at[length + i]))
			return 0;
	return (said.at[length] - '0') * 100 + (said.at[length + 1] - '0') * 10 +
	       (said.at[length + 2] - '0');
}

static void look_at(const struct delivered *out, struct fuzz_bytes said)
{
	bool good = out->status >= 200 && out->status < 300;
	bool later = out->status == 0 || out->status == 408 || out->status == 425 ||
		     out->status == 429 || out->status >= 500;
	long plain = plain_status(said);

	fuzz_holds(out->status == 0 || (out->status >= 200 && out->status <= 999));
	fuzz_holds(out->outcome == (good ? DELIVERED_IT : later ? TRY_AGAIN : REFUSED_IT));
	fuzz_holds(out->retry_after == 0 ||
		   (out->retry_after >= 1 && out->retry_after <= RETRY_AFTER_MOST));
	fuzz_holds(fuzz_is_sentence(out->why) && strlen(out->why) < DELIVERY_WHY);
	fuzz_holds(!strstr(out->why, secret_path)); /* it is for the log */
	if (plain >= 200)
		fuzz_holds(out->status == plain);
	if (said.left == 0)
		fuzz_holds(out->status == 0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	static struct delivery *delivery;
	static int listening;
	static char *endpoint;
	struct fuzz_bytes in = { data, size };
	uint8_t how = fuzz_byte(&in);
	struct fuzz_bytes said = fuzz_some(&in, SAID_MOST), rest = said;
	const struct post post = { .secret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", .id = "msg_1",
				   .content_type = "text/plain", .body = "T3 too dry",
				   .timestamp = 1767225600 };
	struct delivered out;
	bool done = false;

	if (!delivery) {
		delivery = delivery_new();
		listening = listen_here(&endpoint);
		fuzz_holds(delivery);
	}
	struct post here = post;
	struct server server = { .listening = listening, .talking = -1, .open = how & 1 };

	here.endpoint = endpoint;
	server.first = fuzz_some(&rest, how & 2 ? said.left / 2 : said.left);
	server.rest = rest;
	fuzz_holds(delivery_post(delivery, &here, &server));
	for (int round = 0; !done; round++) {
		fuzz_holds(round < ROUNDS_MOST);
		delivery_wait(delivery, listening, patience);
		serve(&server);
		done = delivery_take(delivery, &out);
	}
	fuzz_holds(out.token == &server);
	look_at(&out, said);
	fuzz_holds(!delivery_take(delivery, &out));
	if (server.talking >= 0)
		hang_up(server.talking);
	return 0;
}
