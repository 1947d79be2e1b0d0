/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any text as a configuration, and another that it may include.  Input: the text, a
 * form feed, the text of "part.conf", a form feed, the bytes of what "@part.url" names.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/band.h"
#include "conf/computed.h"
#include "conf/layout.h"
#include "conf/load.h"
#include "conf/value.h"
#include "conf/words.h"

enum { LOAD_AGAIN = 4 };

/* Instants at which days, years and clocks change, and some at which nothing does. */
static const double odd_instants[] = {
	0, 1, 951782399, 951782400, 1767225599.999, 1767225600, 1774746000, 1782900000.5,
	1793149200, 1830297599, 4102444800, 253402300799,
};

static size_t lines_of(const char *text)
{
	size_t lines = 1;

	for (; *text; text++)
		lines += *text == '\n';
	return lines;
}

static bool ends_in(const char *text, const char *end)
{
	size_t length = strlen(text), tail = strlen(end);

	return length >= tail && strcmp(text + length - tail, end) == 0;
}

/* Each says where it is, in a line that is there, and what is wrong. */
static void look_at_faults(const struct faults *faults, const char *text, const char *part)
{
	fuzz_holds(faults->count > 0 && faults->count <= FAULTS_MOST + 1);
	for (size_t i = 0; i < faults->count; i++) {
		const struct fault *fault = &faults->list[i];
		size_t most = ends_in(fault->file, "fuzz.conf")   ? lines_of(text)
			      : ends_in(fault->file, "part.conf") ? lines_of(part)
								  : 0;

		fuzz_holds(fault->line >= 0 && (size_t)fault->line <= most);
		fuzz_holds(fuzz_is_sentence(fault->text));
	}
}

static void look_at_rule(const struct rule *rule, enum quantity quantity)
{
	fuzz_holds(rule->patience >= 0 && rule->limits_patience >= 0 && rule->deadband >= 0);
	fuzz_holds(rule->on_delay >= 0 && rule->off_delay >= 0);
	if (rule->has_limits)
		fuzz_holds(rule->limits.low < rule->limits.high &&
			   is_plausible(quantity, rule->limits.low) &&
			   is_plausible(quantity, rule->limits.high));
	if (!rule->has_band)
		return;
	for (int part = DAY; part <= CHANGEOVER; part++) {
		struct range band = band_in(rule, (enum daypart)part);

		fuzz_holds(band.low < band.high && is_plausible(quantity, band.low) &&
			   is_plausible(quantity, band.high));
		/* While it changes, either will do. */
		fuzz_holds(part != CHANGEOVER ||
			   (band.low <= fmin(rule->day.low, rule->night.low) &&
			    band.high >= fmax(rule->day.high, rule->night.high)));
		fuzz_holds(rule->deadband <= (band.high - band.low) / 2 + 1e-9);
		if (rule->has_limits)
			fuzz_holds(band.low >= rule->limits.low - 1e-9 &&
				   band.high <= rule->limits.high + 1e-9);
	}
}

static void look_at_instants(const struct conf *conf, const struct rule *rule,
			     enum quantity quantity)
{
	struct daypart_cache cache = { 0 };

	for (size_t i = 0; i < sizeof odd_instants / sizeof *odd_instants; i++) {
		double instant = odd_instants[i];
		struct daypart_span span = cached_daypart(&cache, &conf->day, instant);
		struct rule room;

		fuzz_holds(span.from <= instant && instant < span.until);
		look_at_rule(rule_at(rule, &conf->day, &cache, instant, &room), quantity);
	}
}

static void look_at_enclosure(const struct conf *conf, const struct enclosure *enclosure)
{
	struct series series[MAX_SERIES];
	size_t count = enclosure_series(conf, enclosure, series);

	fuzz_holds(count <= MAX_SERIES && enclosure->label[0]);
	fuzz_holds(find_enclosure(conf, enclosure->name) == enclosure);
	for (int place = 0; place < PLACES; place++) {
		const struct place_conf *at = &enclosure->places[place];

		fuzz_holds(!at->watched || at->probe < conf->probe_count);
		fuzz_holds(!at->watched || (place == ROOM_AIR) == enclosure->is_room);
		for (int quantity = 0; quantity < QUANTITIES; quantity++)
			look_at_instants(conf, &at->rules[quantity], (enum quantity)quantity);
	}
}

static void look_at_conf(const struct conf *conf)
{
	for (size_t i = 0; i < conf->bus_count; i++)
		fuzz_holds(conf->buses[i].every > 0 && conf->buses[i].port &&
			   conf->buses[i].baud >= 1200 && conf->buses[i].baud <= 115200 &&
			   (conf->buses[i].speaks != SPEAKS_LINES || conf->buses[i].line));
	for (size_t i = 0; i < conf->probe_count; i++) {
		const struct probe *probe = &conf->probes[i];

		fuzz_holds(probe->bus < conf->bus_count);
		fuzz_holds(probe->gives[TEMPERATURE] || probe->gives[HUMIDITY]);
		for (int q = 0; q < QUANTITIES; q++)
			fuzz_holds(isfinite(probe->correction[q].offset) &&
				   isfinite(probe->correction[q].slope) &&
				   (!probe->registers[q].present || probe->registers[q].divisor > 0));
	}
	for (size_t i = 0; i < conf->enclosure_count; i++)
		look_at_enclosure(conf, &conf->enclosures[i]);
	for (size_t i = 0; i < conf->webhook_count; i++)
		fuzz_holds(conf->webhooks[i].endpoint);
	for (int size = 0; size < ROW_SIZES; size++)
		fuzz_holds(row_count(&conf->archive, row_sizes[size]) > 0);
}

/* Whoever may not read the secrets finds what the daemon found. */
static void load_again(const char *path, const struct conf *whole)
{
	struct faults faults = { 0 };
	struct conf *conf = conf_load_without_webhooks(path, &faults);
	size_t count;
	char **names = conf_webhook_names(path, &count);

	if (whole) {
		fuzz_holds(conf && conf->enclosure_count == whole->enclosure_count &&
			   conf->probe_count == whole->probe_count && conf->webhook_count == 0);
		fuzz_holds(count == whole->webhook_count);
		for (size_t i = 0; i < count; i++)
			fuzz_holds(strcmp(names[i], whole->webhooks[i].name) == 0);
	}
	fuzz_holds((conf == NULL) == (faults.count > 0));
	for (size_t i = 0; i < count; i++)
		free(names[i]);
	free(names);
	conf_free(conf);
	faults_clear(&faults);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size };
	char *text = fuzz_part(&in), *part = fuzz_part(&in);
	/* With its zero bytes, if it has any: the loader has to see those too. */
	const uint8_t *end = size ? memchr(data, '\f', size) : NULL;
	char *path = fuzz_file("fuzz.conf", data, end ? (size_t)(end - data) : size);
	char *beside = fuzz_file("part.conf", part, strlen(part));
	char *secret = fuzz_file("part.url", in.at, in.left);
	struct faults faults = { 0 };
	struct conf *conf = conf_load(path, &faults);

	fuzz_holds((conf == NULL) == (faults.count > 0));
	if (conf)
		look_at_conf(conf);
	else
		look_at_faults(&faults, text, part);
	if (size % LOAD_AGAIN == 0) /* it takes as long again, and twice */
		load_again(path, conf);
	conf_free(conf);
	faults_clear(&faults);
	free(secret);
	free(beside);
	free(path);
	free(part);
	free(text);
	return 0;
}
