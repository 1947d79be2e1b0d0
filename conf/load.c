/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A configuration file -> the model; see load.h.  The way of a text:
 *
 *     configtext -> token -> statement, script -> load_grammar -> resolve
 *
 * Each step tells of its own kind of fault and hands on what is usable, so
 * that one run finds all of them.
 */
#include "conf/load.h"

#include <stdlib.h>

#include "conf/load_grammar.h"
#include "conf/memory.h"
#include "conf/resolve.h"
#include "conf/script.h"

static struct conf *load(const char *path, bool no_webhooks, struct faults *faults)
{
	struct script script;
	struct resolve resolve = {
		.conf = must_calloc(1, sizeof *resolve.conf),
		.script = &script,
		.faults = faults,
		.path = path,
		.no_webhooks = no_webhooks,
	};
	size_t before = faults->count;

	script_read(&script, path, faults);
	resolve.top = (struct section){ grammar_read(&script, faults), &script };
	resolve_all(&resolve);
	grammar_free(resolve.top.cfg);
	script_clear(&script);
	for (size_t i = 0; i < REFERRED; i++)
		titles_clear(&resolve.known[i]);
	free(resolve.buses);
	faults_sort(faults);
	if (faults->count == before)
		return resolve.conf;
	conf_free(resolve.conf);
	return NULL;
}

struct conf *conf_load(const char *path, struct faults *faults)
{
	return load(path, false, faults);
}

struct conf *conf_load_without_webhooks(const char *path, struct faults *faults)
{
	return load(path, true, faults);
}

char **conf_webhook_names(const char *path, size_t *count)
{
	struct faults faults = { 0 };
	struct script script;

	script_read(&script, path, &faults);

	struct section top = { grammar_read(&script, &faults), &script };
	char **names;

	*count = section_count(top, "webhook");
	names = must_calloc(*count, sizeof *names);
	for (size_t i = 0; i < *count; i++) {
		const char *title = section_head(section_at(top, "webhook", i))->text;

		names[i] = must_copy(title ? title : "");
	}
	grammar_free(top.cfg);
	script_clear(&script);
	faults_clear(&faults);
	return names;
}
