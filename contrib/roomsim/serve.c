/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simulated room in real time; see serve.h.
 */
#include "contrib/roomsim/serve.h"

#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <time.h>
#include <unistd.h>

#include "conf/memory.h"
#include "contrib/roomsim/pty.h"
#include "contrib/roomsim/slave.h"
#include "contrib/roomsim/writeconf.h"

/* 9600 bit/s, 11 bits a character: MODBUS over Serial Line V1.02, 2.5.1. */
static const double CHARACTER = 11.0 / 9600;    /* s */
static const double TURNAROUND = 0.006;         /* s: 3.5 characters and a little thought */
static const double GAP = 0.05;                 /* s of silence that end a broken request */
static const double LOOK_AGAIN = 0.02;          /* s: a port nobody has open cannot be waited for */

struct rack {
	struct pty pty;
	uint8_t heard[64];
	size_t heard_count;
	double heard_at;        /* monotonic s of the latest byte */
	uint8_t reply[REPLY_BYTES];
	size_t reply_count;     /* 0: none under way */
	double reply_at;        /* monotonic s at which its last bit has gone over the wire */
};

struct server {
	struct world *world;
	struct rack *racks;
	struct pty board;
	int every;
	double print_at;        /* monotonic s of the board's next lines */
	int signals;            /* descriptor */
};

static double clock_now(clockid_t id)
{
	struct timespec now;

	clock_gettime(id, &now);
	return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

/* ---- the racks ---------------------------------------------------------- */

static struct probe_sim *probe_at(struct world *world, size_t rack, int address)
{
	for (size_t i = 0; i < world->probe_count; i++) {
		struct probe_sim *probe = &world->probes[i];

		if (!probe->on_board && probe->rack == rack && probe->address == address)
			return probe;
	}
	return NULL;
}

static void answer(struct server *server, size_t number, double now)
{
	struct rack *rack = &server->racks[number];
	struct probe_sim *probe = probe_at(server->world, number, rack->heard[0]);
	struct transmitter transmitter;
	int tenths[QUANTITIES];
	enum answer how;

	if (!probe)
		return; /* nobody has that address */
	world_advance(server->world, clock_now(CLOCK_REALTIME));
	how = world_read(server->world, probe, clock_now(CLOCK_REALTIME), tenths);
	if (how == KEEPS_SILENT)
		return;
	transmitter = (struct transmitter){
		.values = { (int16_t)tenths[TEMPERATURE], (int16_t)tenths[HUMIDITY] },
		.count = probe->has_humidity ? 2 : 1,
	};
	rack->reply_count = slave_reply(rack->heard, &transmitter, rack->reply);
	if (how == ANSWERS_DAMAGED)
		rack->reply[rack->reply_count / 2] ^= 0x24;
	rack->reply_at = now + TURNAROUND +
			 CHARACTER * (double)(REQUEST_BYTES + rack->reply_count);
}

static void hear(struct server *server, size_t number, double now)
{
	struct rack *rack = &server->racks[number];
	ssize_t got = read(rack->pty.fd, rack->heard + rack->heard_count,
			   sizeof(rack->heard) - rack->heard_count);

	if (got > 0) {
		rack->heard_count += (size_t)got;
		rack->heard_at = now;
	}
	if (rack->heard_count >= REQUEST_BYTES && slave_crc(rack->heard, REQUEST_BYTES) == 0) {
		answer(server, number, now);
		rack->heard_count = 0;
	} else if (rack->heard_count == sizeof(rack->heard)) {
		rack->heard_count = 0;
	}
}

/* What time alone changes: a reply leaves, a broken request is forgotten. */
static void tend_rack(struct rack *rack, double now)
{
	if (rack->reply_count > 0 && now >= rack->reply_at) {
		/* A reader that has gone loses the reply, as on a wire. */
		ssize_t sent = write(rack->pty.fd, rack->reply, rack->reply_count);

		(void)sent;
		rack->reply_count = 0;
	}
	if (rack->heard_count > 0 && now >= rack->heard_at + GAP)
		rack->heard_count = 0;
}

/* ---- the board ---------------------------------------------------------- */

static void print_probe(struct server *server, struct probe_sim *probe, double now)
{
	int tenths[QUANTITIES];
	enum answer how = world_read(server->world, probe, now, tenths);
	char line[PROBE_NAME + 40];
	int length;
	ssize_t sent;

	if (how == KEEPS_SILENT)
		return;
	length = snprintf(line, sizeof(line), "%s,%.1f,%.1f\n", probe->name,
			  tenths[TEMPERATURE] / 10.0, tenths[HUMIDITY] / 10.0);
	if (how == ANSWERS_DAMAGED)
		line[length / 2] = '\x15';
	/* A full buffer means nobody reads: the line is lost, as on a wire. */
	sent = write(server->board.fd, line, (size_t)length);
	(void)sent;
}

static void print_board(struct server *server)
{
	double now = clock_now(CLOCK_REALTIME);

	world_advance(server->world, now);
	for (size_t i = 0; i < server->world->probe_count; i++)
		if (server->world->probes[i].on_board)
			print_probe(server, &server->world->probes[i], now);
}

/* ---- the loop ----------------------------------------------------------- */

static double next_due(const struct server *server, double now)
{
	double due = server->print_at;

	for (size_t i = 0; i < server->world->racks; i++) {
		const struct rack *rack = &server->racks[i];

		if (rack->reply_count > 0 && rack->reply_at < due)
			due = rack->reply_at;
		if (rack->heard_count > 0 && rack->heard_at + GAP < due)
			due = rack->heard_at + GAP;
		if (!pty_listened(&rack->pty) && now + LOOK_AGAIN < due)
			due = now + LOOK_AGAIN;
	}
	return due;
}

static void tend(struct server *server)
{
	double now = clock_now(CLOCK_MONOTONIC);

	for (size_t i = 0; i < server->world->racks; i++)
		tend_rack(&server->racks[i], now);
	if (now < server->print_at)
		return;
	if (pty_listened(&server->board))
		print_board(server);
	server->print_at = now + server->every;
}

static void loop(struct server *server)
{
	size_t count = server->world->racks;
	struct pollfd *wait = must_calloc(count + 1, sizeof(*wait));

	for (;;) {
		double now = clock_now(CLOCK_MONOTONIC);
		double pause = next_due(server, now) - now;

		for (size_t i = 0; i < count; i++)
			wait[i] = (struct pollfd){
				.fd = pty_listened(&server->racks[i].pty) ? server->racks[i].pty.fd
									  : -1,
				.events = POLLIN,
			};
		wait[count] = (struct pollfd){ .fd = server->signals, .events = POLLIN };
		poll(wait, count + 1, pause > 0 ? (int)(pause * 1000) + 1 : 0);
		if (wait[count].revents)
			break;
		for (size_t i = 0; i < count; i++)
			if (wait[i].revents & POLLIN)
				hear(server, i, clock_now(CLOCK_MONOTONIC));
		tend(server);
	}
	free(wait);
}

static int take_signals(void)
{
	sigset_t set;

	sigemptyset(&set);
	sigaddset(&set, SIGTERM);
	sigaddset(&set, SIGINT);
	sigprocmask(SIG_BLOCK, &set, NULL);
	return signalfd(-1, &set, SFD_CLOEXEC);
}

static bool open_ports(struct server *server, const struct serve_options *options)
{
	bool opened = pty_open(&server->board, options->board);

	for (size_t i = 0; i < server->world->racks; i++) {
		char *link = rack_link(options->rack, i);

		opened = opened && pty_open(&server->racks[i].pty, link);
		free(link);
	}
	return opened;
}

int serve(struct world *world, const struct serve_options *options)
{
	struct server server = { .world = world, .board.fd = -1, .every = options->every };
	bool opened;

	server.racks = must_calloc(world->racks, sizeof(*server.racks));
	for (size_t i = 0; i < world->racks; i++)
		server.racks[i].pty.fd = -1;
	server.signals = take_signals();
	server.print_at = clock_now(CLOCK_MONOTONIC);
	opened = server.signals >= 0 && open_ports(&server, options);
	if (opened)
		loop(&server);
	for (size_t i = 0; i < world->racks; i++)
		pty_close(&server.racks[i].pty);
	pty_close(&server.board);
	free(server.racks);
	if (server.signals >= 0)
		close(server.signals);
	return opened ? 0 : 1;
}
