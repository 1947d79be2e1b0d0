/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * now.json; see nowfile.h.  The part under "enclosures" is what `warmside
 * now` prints; "probes" and "buses" are for finding faults.
 */
#include "daemon/nowfile.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/words.h"

static json_t *text_or_null(const char *text)
{
	return text ? json_string(text) : json_null();
}

static json_t *range_or_null(bool present, struct range range)
{
	return present ? json_pack("[f,f]", range.low, range.high) : json_null();
}

static json_t *from_series(struct flow *flow, const struct live_series *series)
{
	const struct sample *last = &series->judged.last;
	struct range band;
	struct rule room;
	const struct rule *rule = flow_rule(flow, series, flow->now, &room);
	bool known = series->judged.has_last, banded = flow_band(flow, series, flow->now, &band);

	json_t *object = json_pack(
		"{s:s,s:s,s:o,s:o,s:o,s:o,s:o}", "place", place_word(series->key.place), "quantity",
		quantity_word(series->key.quantity), "value",
		known ? json_real(last->value) : json_null(), "time",
		known ? json_real(last->time) : json_null(), "state",
		text_or_null(flow_state(flow, series)), "band",
		range_or_null(banded, banded ? band : (struct range){ 0 }), "limits",
		range_or_null(rule->has_limits, rule->limits));

	if (series->key.computed)
		json_object_set_new(object, "computed", json_true());
	return object;
}

/* The gravest of its series' states speaks for an enclosure. */
static const char *worse(const char *a, const char *b)
{
	static const char *const order[] = { "unsafe", "straying", "silent", "frozen", "in band" };

	for (size_t i = 0; i < sizeof order / sizeof *order; i++)
		if ((a && strcmp(a, order[i]) == 0) || (b && strcmp(b, order[i]) == 0))
			return order[i];
	return NULL;
}

static json_t *from_enclosure(struct flow *flow, const struct live_enclosure *enclosure)
{
	json_t *places = json_array();
	const char *state = NULL;

	for (size_t s = 0; s < enclosure->shown; s++) {
		const struct live_series *series = &enclosure->series[s];

		json_array_append_new(places, from_series(flow, series));
		state = worse(state, flow_state(flow, series));
	}
	if (enclosure->conf->out_of_service)
		state = "out of service";
	return json_pack("{s:s,s:o,s:o,s:o}", "name", enclosure->conf->name, "state",
			 text_or_null(state), "shelved_until",
			 enclosure->shelved ? json_real(enclosure->shelved_until) : json_null(),
			 "places", places);
}

static json_t *from_failures(const struct counters *counters)
{
	json_t *failed = json_object();

	for (int cause = 0; cause < CAUSES; cause++)
		json_object_set_new(failed, cause_word((enum cause)cause),
				    json_integer((json_int_t)counters->failed[cause]));
	return failed;
}

/* Why there are no readings; null while there are, or when nothing is known. */
static json_t *from_trouble(const struct flow *flow, size_t probe)
{
	char *text = flow_diagnose(flow, probe);
	json_t *trouble = text_or_null(text);

	free(text);
	return trouble;
}

static json_t *from_probe(const struct flow *flow, size_t index)
{
	const struct probe *probe = &flow->conf->probes[index];
	const struct live_probe *live = &flow->probes[index];
	json_t *raw = json_object();

	for (int q = 0; q < QUANTITIES; q++)
		if (live->has_last && live->last.has[q])
			json_object_set_new(raw, quantity_word((enum quantity)q),
					    json_real(live->last.value[q]));
	return json_pack("{s:s,s:s,s:I,s:I,s:o,s:o,s:o,s:o}", "name", probe->name, "bus",
			 flow->conf->buses[probe->bus].name, "asked",
			 (json_int_t)live->counters.asked, "read", (json_int_t)live->counters.read,
			 "failed", from_failures(&live->counters), "raw", raw, "time",
			 live->has_last ? json_real(live->last.time) : json_null(), "trouble",
			 from_trouble(flow, index));
}

static json_t *from_webhook(const char *name, const struct webhook_state *state)
{
	return json_pack("{s:s,s:o,s:b,s:o}", "name", name, "refused",
			 text_or_null(*state->message ? state->message : NULL), "gone", state->gone,
			 "trouble", text_or_null(*state->why ? state->why : NULL));
}

/* The text as it grows: a tree of it all would take several times as much. */
struct text {
	char *bytes;
	size_t used, room;
	bool begun;             /* the list under way has an entry */
};

static void add_bytes(struct text *text, const char *bytes, size_t count)
{
	if (text->room - text->used <= count) {
		text->room = 2 * text->room + count + 1;
		text->bytes = must_resize(text->bytes, text->room, 1);
	}
	memcpy(text->bytes + text->used, bytes, count);
	text->used += count;
	text->bytes[text->used] = '\0';
}

static int add_piece(const char *bytes, size_t count, void *context)
{
	add_bytes(context, bytes, count);
	return 0;
}

/* Appends a value, and frees it.  A number that is none makes its entry NULL. */
static void add_value(struct text *text, json_t *value)
{
	if (!value)
		add_bytes(text, "null", 4);
	json_dump_callback(value, add_piece, text,
			   JSON_COMPACT | JSON_ENCODE_ANY | JSON_REAL_PRECISION(13));
	json_decref(value);
}

static void add_key(struct text *text, const char *key)
{
	char *head = must_print("%s\"%s\":", text->used > 1 ? "," : "", key);

	add_bytes(text, head, strlen(head));
	free(head);
}

static void add_member(struct text *text, const char *key, json_t *value)
{
	add_key(text, key);
	add_value(text, value);
}

static void begin_list(struct text *text, const char *key)
{
	add_key(text, key);
	add_bytes(text, "[", 1);
	text->begun = false;
}

/* An entry that could not be made is left out: readers expect objects. */
static void add_entry(struct text *text, json_t *entry)
{
	if (!entry)
		return;
	if (text->begun)
		add_bytes(text, ",", 1);
	text->begun = true;
	add_value(text, entry);
}

static void end_list(struct text *text)
{
	add_bytes(text, "]", 1);
}

char *now_text(struct flow *flow, const struct now_extra *extra)
{
	struct text text = { 0 };

	add_bytes(&text, "{", 1);
	add_member(&text, "time", json_real(flow->now));
	add_member(&text, "pid", extra->running ? json_integer(getpid()) : json_null());
	begin_list(&text, "enclosures");
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		add_entry(&text, from_enclosure(flow, &flow->enclosures[e]));
	end_list(&text);
	begin_list(&text, "probes");
	for (size_t p = 0; p < flow->conf->probe_count; p++)
		add_entry(&text, from_probe(flow, p));
	end_list(&text);
	begin_list(&text, "buses");
	for (size_t b = 0; b < extra->bus_count; b++)
		add_entry(&text, json_pack("{s:s,s:b,s:o}", "name", flow->conf->buses[b].name, "open",
					   extra->bus_open[b], "failed",
					   from_failures(&flow->buses[b])));
	end_list(&text);
	begin_list(&text, "webhooks");
	for (size_t w = 0; w < extra->webhook_count; w++)
		add_entry(&text,
			  from_webhook(flow->conf->webhooks[w].name, &extra->webhooks[w]));
	end_list(&text);
	add_member(&text, "archive_backlog", json_integer((json_int_t)extra->archive_backlog));
	add_bytes(&text, "}", 1);
	return text.bytes;
}
