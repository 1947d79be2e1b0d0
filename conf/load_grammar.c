/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The grammar, and libConfuse; see load_grammar.h.
 */
#include "conf/load_grammar.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <confuse.h>

#include "conf/closest.h"
#include "conf/memory.h"
#include "conf/titles.h"

/* Every value is a list of statement numbers, so that none is lost when a
 * key is given twice; every section has its statement number as title. */
#define KEY(name) CFG_INT_LIST(name, NULL, CFGF_NODEFAULT)
#define SECTION(name, keys) CFG_SEC(name, keys, CFGF_MULTI | CFGF_TITLE)

#define RULE_KEYS                                                                  \
	KEY("day"), KEY("night"), KEY("limits"), KEY("patience"), KEY("daily"), \
		KEY("deadband"), KEY("on_delay"), KEY("off_delay"), KEY("source")

#define PLACE_SECTIONS(keys)                                                               \
	SECTION("hot_spot", keys), SECTION("warm_side", keys), SECTION("cool_side", keys), \
		SECTION("humid_hide", keys), SECTION("eggs", keys)

static cfg_t *new_tree(void)
{
	cfg_opt_t temperature[] = { RULE_KEYS, CFG_END() };
	cfg_opt_t humidity[] = { RULE_KEYS, KEY("limits_patience"), CFG_END() };
	cfg_opt_t rules[] = { SECTION("temperature", temperature), SECTION("humidity", humidity),
			      CFG_END() };
	cfg_opt_t place[] = { KEY("probe"), SECTION("temperature", temperature),
			      SECTION("humidity", humidity), CFG_END() };
	cfg_opt_t advice[] = { KEY("too_cold"), KEY("too_hot"), KEY("too_dry"), KEY("too_damp"),
			       KEY("no_gradient"), KEY("silent"), KEY("frozen"), CFG_END() };
	cfg_opt_t season[] = { KEY("from"), KEY("to"), KEY("until"), KEY("ramp"),
			       SECTION("advice", advice), PLACE_SECTIONS(rules), CFG_END() };
	cfg_opt_t species[] = { KEY("latin"), KEY("gradient"), SECTION("advice", advice),
				PLACE_SECTIONS(rules), SECTION("season", season), CFG_END() };
	cfg_opt_t enclosure[] = { KEY("label"), KEY("species"), KEY("build"), KEY("in_service"),
				  KEY("gradient"), KEY("misting_due"), PLACE_SECTIONS(place),
				  SECTION("season", season), CFG_END() };
	cfg_opt_t day[] = { KEY("from"), KEY("to"), KEY("changeover"), CFG_END() };
	cfg_opt_t quiet[] = { KEY("from"), KEY("to"), CFG_END() };
	cfg_opt_t archive[] = { KEY("minutes"), KEY("ten_minutes"), KEY("hours"),
				KEY("write_every"), CFG_END() };
	cfg_opt_t bus[] = { KEY("port"),   KEY("speaks"),    KEY("baud"),
			    KEY("parity"), KEY("stop_bits"), KEY("every"),
			    KEY("line"),   KEY("ask"),       CFG_END() };
	cfg_opt_t probe[] = { KEY("bus"), KEY("address"), KEY("temperature"), KEY("humidity"),
			      KEY("temperature_correction"), KEY("humidity_correction"),
			      KEY("calibrated"), CFG_END() };
	cfg_opt_t webhook[] = { KEY("endpoint"), KEY("secret"), KEY("priority"), KEY("escalate"),
				KEY("body"), KEY("content_type"), KEY("header"), CFG_END() };
	cfg_opt_t heartbeat[] = { KEY("endpoint"), KEY("secret"), KEY("every"), CFG_END() };
	cfg_opt_t top[] = { KEY("units"),
			    KEY("state"),
			    KEY("gather"),
			    KEY("test_every"),
			    KEY("misting_due"),
			    SECTION("day", day),
			    SECTION("quiet", quiet),
			    SECTION("archive", archive),
			    SECTION("bus", bus),
			    SECTION("probe", probe),
			    SECTION("room", place),
			    SECTION("species", species),
			    SECTION("enclosure", enclosure),
			    SECTION("webhook", webhook),
			    SECTION("heartbeat", heartbeat),
			    CFG_END() };

	return cfg_init(top, CFGF_NONE); /* copies the tables */
}

/* The sections that have a name of the keeper's. */
static bool wants_title(const char *section)
{
	static const char *const titled[] = { "bus",	   "probe",   "species",
					      "enclosure", "webhook", "season" };

	for (size_t i = 0; i < sizeof titled / sizeof *titled; i++)
		if (strcmp(section, titled[i]) == 0)
			return true;
	return false;
}

static int write_number(char *to, size_t size, const struct statement *statement, size_t i)
{
	if (!statement->dropped)
		switch (statement->kind) {
		case STATEMENT_VALUE:
			return snprintf(to, size, "%s += %zu\n", statement->name, i);
		case STATEMENT_OPEN:
			return snprintf(to, size, "%s \"%zu\" {\n", statement->name, i);
		case STATEMENT_CLOSE:
			return snprintf(to, size, "}\n");
		}
	return snprintf(to, size, "\n");
}

/* The script in the numbers described in the header; the caller frees. */
static char *write_numbers(const struct script *script)
{
	enum { NUMBER = 32 }; /* bytes for what stands beside the name */
	size_t size = 1, length = 0;
	char *text;

	for (size_t i = 0; i < script->count; i++)
		size += NUMBER + (script->list[i].name ? strlen(script->list[i].name) : 0);
	text = must_calloc(size, 1);
	for (size_t i = 0; i < script->count; i++)
		length += (size_t)write_number(text + length, size - length, &script->list[i], i);
	return text;
}

/* Which option of which section libConfuse refused is found in the tree, so
 * there is nothing to be kept of its own words. */
static void say_nothing(cfg_t *cfg, const char *format, va_list arguments)
{
	(void)cfg;
	(void)format;
	(void)arguments;
}

static cfg_t *last_inner(const cfg_t *cfg)
{
	cfg_t *last = NULL;

	for (cfg_opt_t *opt = cfg->opts; opt->name; opt++) {
		cfg_t *inner = opt->type == CFGT_SEC && opt->nvalues > 0
				       ? cfg_opt_getnsec(opt, opt->nvalues - 1)
				       : NULL;

		if (inner && (!last || inner->line > last->line))
			last = inner;
	}
	return last;
}

static cfg_opt_t *find_key(const cfg_t *cfg, const char *name)
{
	for (cfg_opt_t *opt = cfg->opts; opt->name; opt++)
		if (strcmp(opt->name, name) == 0)
			return opt;
	return NULL;
}

static char *list_keys(const cfg_t *cfg)
{
	char *list = must_copy("");

	for (cfg_opt_t *opt = cfg->opts; opt->name; opt++) {
		char *longer = must_print("%s%s%s", list, *list ? ", " : "", opt->name);

		free(list);
		list = longer;
	}
	return list;
}

static bool same_kind(const cfg_opt_t *opt, const struct statement *statement)
{
	return (opt->type == CFGT_SEC) == (statement->kind == STATEMENT_OPEN);
}

/* The statement is taken for the nearest one that is known, and marked as
 * told of: so what is in a mistyped section is looked at too, and nobody
 * misses the key that was mistyped.  Without a near one it is dropped. */
static void tell_unknown(const cfg_t *cfg, struct script *script, size_t index, const char *place,
			 struct faults *faults)
{
	struct statement *statement = &script->list[index];
	struct closest closest = closest_begin(statement->name);
	char *keys = list_keys(cfg);

	for (cfg_opt_t *opt = cfg->opts; opt->name; opt++)
		if (same_kind(opt, statement))
			closest_try(&closest, opt->name);
	if (closest.best) {
		fault_add(faults, statement->file, statement->line,
			  "%s is not known %s; did you mean %s?", statement->name, place,
			  closest.best);
		free(statement->name);
		statement->name = must_copy(closest.best);
		statement->spoiled = true;
	} else {
		fault_add(faults, statement->file, statement->line,
			  "%s is not known %s; known are %s", statement->name, place, keys);
		script_drop(script, index);
	}
	free(keys);
}

/* The sections libConfuse was in when it stopped, the whole file first. */
struct path {
	const cfg_t *list[8]; /* the grammar is 5 deep */
	size_t count;
};

/* True when one of the sections around would take such a statement. */
static bool fits_outside(const struct path *path, const struct statement *statement)
{
	for (size_t i = 0; i + 1 < path->count; i++) {
		const cfg_opt_t *opt = find_key(path->list[i], statement->name);

		if (opt && same_kind(opt, statement))
			return true;
	}
	return false;
}

/* What was wrong with the statement libConfuse refused; takes it out. */
static void tell(const struct path *path, struct script *script, size_t index,
		 struct faults *faults)
{
	const struct statement *statement = &script->list[index];
	const cfg_t *cfg = path->list[path->count - 1];
	const cfg_opt_t *known = find_key(cfg, statement->name);
	char *inside = script_place(script, statement->inside);
	char *place = *inside ? must_print("in %s", inside) : must_copy("at the top");

	if (known && known->type == CFGT_SEC)
		fault_add(faults, statement->file, statement->line,
			  "%s %s is a section: write %s%s { ... }", statement->name, place,
			  statement->name, wants_title(statement->name) ? " \"name\"" : "");
	else if (known)
		fault_add(faults, statement->file, statement->line,
			  "%s %s is no section: write %s = \"value\"", statement->name, place,
			  statement->name);
	else if (fits_outside(path, statement))
		fault_add(faults, statement->file, statement->line,
			  "%s is not known %s but further out; is a } missing before it?",
			  statement->name, place);
	else
		tell_unknown(cfg, script, index, place, faults);
	if (known || fits_outside(path, statement))
		script_drop(script, index);
	free(place);
	free(inside);
}

/* libConfuse has stopped: the line it had reached is that of the innermost
 * section it was in. */
static void drop_refused(const cfg_t *tree, struct script *script, struct faults *faults)
{
	struct path path = { { tree }, 1 };
	int reached = tree->line;
	size_t index;

	for (const cfg_t *inner = last_inner(tree); inner && inner->line > reached;
	     inner = last_inner(inner)) {
		path.list[path.count++] = inner;
		reached = inner->line;
	}
	index = (size_t)(reached - 1);
	tell(&path, script, index, faults);
}

static size_t number_of(const cfg_t *section)
{
	return strtoul(section->title, NULL, 10);
}

static void check_title(const struct script *script, const struct statement *head,
			struct faults *faults)
{
	char *inside = script_place(script, head->inside);

	if (wants_title(head->name) && !head->text)
		fault_add(faults, head->file, head->line, "%s needs a name: %s \"name\" { ... }",
			  head->name, head->name);
	else if (!wants_title(head->name) && head->text)
		fault_add(faults, head->file, head->line,
			  "%s%s%s has no name of its own: %s { ... }", inside, *inside ? ", " : "",
			  head->name, head->name);
	free(inside);
}

static void tell_twice(const struct script *script, size_t first, size_t second,
		       struct faults *faults)
{
	const struct statement *was = &script->list[first], *is = &script->list[second];
	char *what = script_place(script, is->kind == STATEMENT_OPEN ? second : is->inside);
	const char *key = is->kind == STATEMENT_OPEN ? "" : is->name;

	if (!was->spoiled && !is->spoiled)
		fault_add(faults, is->file, is->line,
			  "%s%s%s stands here again: the first is in %s, line %d; keep one of them",
			  what, *what && *key ? ": " : "", key, was->file, was->line);
	free(what);
}

/* Doubled titles, and sections that may stand only once. */
static void check_doubles(cfg_opt_t *opt, const struct script *script, struct faults *faults)
{
	struct titles titles = { 0 };

	for (unsigned i = 0; i < opt->nvalues; i++) {
		size_t number = number_of(cfg_opt_getnsec(opt, i));
		const struct statement *head = &script->list[number];

		if (!wants_title(head->name) || head->text)
			titles_add(&titles, wants_title(head->name) ? head->text : "", number);
	}
	titles_sort(&titles);
	for (size_t i = 0; i < titles.count; i++) {
		size_t first = titles_find(&titles, titles.list[i].text, 0);

		if (first != titles.list[i].number)
			tell_twice(script, first, titles.list[i].number, faults);
	}
	titles_clear(&titles);
}

/* The one key that may stand several times. */
static bool may_repeat(const char *key)
{
	return strcmp(key, "header") == 0;
}

static void check_section(const cfg_t *cfg, const struct script *script, struct faults *faults)
{
	for (cfg_opt_t *opt = cfg->opts; opt->name; opt++) {
		if (opt->type != CFGT_SEC) {
			for (unsigned i = 1; i < opt->nvalues && !may_repeat(opt->name); i++)
				tell_twice(script, (size_t)cfg_opt_getnint(opt, 0),
					   (size_t)cfg_opt_getnint(opt, i), faults);
			continue;
		}
		check_doubles(opt, script, faults);
		for (unsigned i = 0; i < opt->nvalues; i++) {
			const cfg_t *inner = cfg_opt_getnsec(opt, i);

			check_title(script, &script->list[number_of(inner)], faults);
			check_section(inner, script, faults);
		}
	}
}

cfg_t *grammar_read(struct script *script, struct faults *faults)
{
	for (;;) {
		char *text = write_numbers(script);
		cfg_t *tree = new_tree();
		int result;

		cfg_set_error_function(tree, say_nothing);
		result = cfg_parse_buf(tree, text);
		free(text);
		if (result == CFG_SUCCESS || faults_full(faults)) {
			check_section(tree, script, faults);
			return tree;
		}
		drop_refused(tree, script, faults);
		cfg_free(tree);
	}
}

void grammar_free(cfg_t *tree)
{
	cfg_free(tree);
}

const struct statement *section_value_at(struct section section, const char *key, size_t index)
{
	cfg_opt_t *opt = find_key(section.cfg, key);

	if (!opt || index >= opt->nvalues)
		return NULL;
	return &section.script->list[cfg_opt_getnint(opt, (unsigned)index)];
}

const struct statement *section_value(struct section section, const char *key)
{
	return section_value_at(section, key, 0);
}

size_t section_count(struct section section, const char *name)
{
	const cfg_opt_t *opt = find_key(section.cfg, name);

	return opt ? opt->nvalues : 0;
}

struct section section_at(struct section section, const char *name, size_t index)
{
	cfg_opt_t *opt = find_key(section.cfg, name);

	return (struct section){ cfg_opt_getnsec(opt, (unsigned)index), section.script };
}

const struct statement *section_head(struct section section)
{
	return &section.script->list[number_of(section.cfg)];
}
