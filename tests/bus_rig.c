/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The rig; see bus_rig.h.
 */
#include "tests/bus_rig.h"

#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "daemon/modbus.h"

enum { PATIENCE_MS = 5000, NOTHING_MS = 20 };

static void put_word(struct rig *rig, const char *format, ...)
{
	size_t used = strlen(rig->log);
	va_list arguments;

	va_start(arguments, format);
	vsnprintf(rig->log + used, RIG_LOG - used, format, arguments);
	va_end(arguments);
}

static void on_asked(void *context, size_t probe)
{
	put_word(context, "ask%zu ", probe);
}

static void put_value(struct rig *rig, bool has, double value)
{
	if (has)
		put_word(rig, "%.1f", value);
	else
		put_word(rig, "-");
}

static void on_reading(void *context, const struct reading *r)
{
	struct rig *rig = context;

	assert_near(r->time, rig->mono + 1e9, 0);
	put_word(rig, "read%zu=", r->probe);
	put_value(rig, r->has[TEMPERATURE], r->value[TEMPERATURE]);
	put_word(rig, "/");
	put_value(rig, r->has[HUMIDITY], r->value[HUMIDITY]);
	put_word(rig, " ");
}

static void on_failed(void *context, size_t probe, enum cause cause)
{
	put_word(context, "%s", cause_word(cause));
	if (probe == NO_PROBE)
		put_word(context, "- ");
	else
		put_word(context, "%zu ", probe);
}

static void on_port(void *context, bool open, const char *why)
{
	assert_true(strlen(why) > 0);
	put_word(context, open ? "open " : "shut ");
}

void rig_init(struct rig *rig, enum speaks speaks, size_t probes)
{
	memset(rig, 0, sizeof *rig);
	snprintf(rig->folder, sizeof rig->folder, "/tmp/warmside-bus.XXXXXX");
	assert_non_null(mkdtemp(rig->folder));
	snprintf(rig->port, sizeof rig->port, "%s/port", rig->folder);
	rig->settings = (struct bus){
		.port = rig->port, .speaks = speaks, .baud = 9600, .stop_bits = 1, .every = 10,
	};
	rig->conf = (struct conf){ .buses = &rig->settings, .bus_count = 1,
				   .probes = rig->probes, .probe_count = probes };
	for (size_t i = 0; i < probes; i++) {
		snprintf(rig->tokens[i], sizeof rig->tokens[i], "p%zu", i);
		rig->probes[i] = (struct probe){
			.address = (int)i + 1, .token = rig->tokens[i],
			.registers = { { true, 4, 1, 10 }, { true, 4, 2, 10 } },
		};
	}
	rig->mono = 100;
	rig->far = -1;
	rig_plug(rig);
}

void rig_start(struct rig *rig)
{
	const struct bus_sink sink = { .context = rig, .asked = on_asked, .reading = on_reading,
				       .failed = on_failed, .port_state = on_port };

	rig->bus = bus_new(&rig->conf, 0, &sink);
	assert_int_equal(bus_fd(rig->bus), -1);
	rig_step(rig);
}

void rig_free(struct rig *rig)
{
	bus_free(rig->bus);
	if (rig->far >= 0)
		close(rig->far);
	unlink(rig->port);
	rmdir(rig->folder);
}

void rig_plug(struct rig *rig)
{
	char name[64];

	rig->far = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	assert_true(rig->far >= 0);
	assert_int_equal(grantpt(rig->far) | unlockpt(rig->far), 0);
	assert_int_equal(ptsname_r(rig->far, name, sizeof name), 0);
	unlink(rig->port);
	assert_int_equal(symlink(name, rig->port), 0);
}

void rig_unplug(struct rig *rig)
{
	struct pollfd p = { .fd = bus_fd(rig->bus), .events = POLLIN };

	close(rig->far);
	rig->far = -1;
	unlink(rig->port);
	assert_int_equal(poll(&p, 1, PATIENCE_MS), 1);
}

void rig_step(struct rig *rig)
{
	rig->due = bus_step(rig->bus, rig->mono, rig->mono + 1e9);
}

void rig_at(struct rig *rig, double mono)
{
	assert_true(mono >= rig->mono);
	rig->mono = mono;
	rig_step(rig);
}

void rig_next(struct rig *rig)
{
	assert_true(rig->due < INFINITY);
	rig_at(rig, rig->due > rig->mono ? rig->due : rig->mono);
}

static int waiting_in(int fd)
{
	int count = 0;

	assert_int_equal(ioctl(fd, FIONREAD, &count), 0);
	return count;
}

static void wait_for_bytes(int fd, size_t count)
{
	const struct timespec pause = { .tv_nsec = 200000 };

	for (int i = 0; i < PATIENCE_MS * 5 && (size_t)waiting_in(fd) < count; i++)
		nanosleep(&pause, NULL);
	assert_int_equal(waiting_in(fd), count);
}

void rig_put(struct rig *rig, const void *bytes, size_t count)
{
	size_t before = (size_t)waiting_in(bus_fd(rig->bus));

	assert_int_equal(write(rig->far, bytes, count), count);
	wait_for_bytes(bus_fd(rig->bus), before + count);
}

void rig_say(struct rig *rig, const void *bytes, size_t count)
{
	rig_put(rig, bytes, count);
	rig_step(rig);
}

void rig_say_text(struct rig *rig, const char *text)
{
	rig_say(rig, text, strlen(text));
}

void rig_hears(struct rig *rig, const void *bytes, size_t count)
{
	char heard[512];

	wait_for_bytes(rig->far, count);
	assert_int_equal(read(rig->far, heard, sizeof heard), count);
	assert_memory_equal(heard, bytes, count);
}

/* Nothing can be waited for only so long: the kernel passes bytes on in the
 * background.  What comes later still fails the next rig_hears. */
void rig_hears_nothing(struct rig *rig)
{
	struct pollfd p = { .fd = rig->far, .events = POLLIN };

	assert_int_equal(poll(&p, 1, NOTHING_MS), 0);
}

/* ---- Modbus ---- */

size_t rig_with_crc(uint8_t *frame, size_t length)
{
	uint16_t crc = modbus_crc(frame, length);

	frame[length] = (uint8_t)crc;
	frame[length + 1] = (uint8_t)(crc >> 8);
	return length + 2;
}

/* The answer of a probe: its registers 1 and 2, in tenths. */
size_t rig_answer_of(int address, int t, int h, uint8_t frame[9])
{
	const uint8_t bytes[] = { (uint8_t)address, 4, 4, (uint8_t)(t >> 8), (uint8_t)t,
				  (uint8_t)(h >> 8), (uint8_t)h };

	memcpy(frame, bytes, sizeof bytes);
	return rig_with_crc(frame, sizeof bytes);
}

void rig_hears_request(struct rig *rig, int address)
{
	struct modbus_request r = modbus_request(address, 4, 1, 2);

	rig_hears(rig, r.frame, sizeof r.frame);
}

void rig_says_answer(struct rig *rig, int address, int t, int h)
{
	uint8_t frame[9];

	rig_say(rig, frame, rig_answer_of(address, t, h, frame));
}

void rig_open_and_ask(struct rig *rig, size_t probes)
{
	rig_init(rig, SPEAKS_MODBUS, probes);
	rig_start(rig);
	rig_told(rig, "open ask0 ");
	rig_hears_nothing(rig);
	rig_next(rig);
	rig_hears_request(rig, 1);
}
