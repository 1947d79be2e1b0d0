/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The list of statements; see script.h.  How one file is taken apart is in
 * statement.c.
 */
#include "conf/script.h"

#include <stdlib.h>
#include <string.h>

#include "conf/configtext.h"
#include "conf/memory.h"
#include "conf/statement.h"
#include "conf/utf8.h"

enum { INCLUDES_DEEPEST = 10 };

static size_t remember_file(struct script *script, const char *path, char *real)
{
	size_t count = script->file_count + 1;

	script->files = must_resize(script->files, count, sizeof *script->files);
	script->real = must_resize(script->real, count, sizeof *script->real);
	script->files[count - 1] = must_copy(path);
	script->real[count - 1] = real;
	script->file_count = count;
	return count - 1;
}

/* False, and a fault, when the file may not be included here. */
static bool may_include(const struct script *script, const char *real,
			const struct includer *from, int line, struct faults *faults)
{
	const char *file = script->files[from->file];
	int depth = 0;

	for (const struct includer *link = from; link; link = link->from, depth++)
		if (strcmp(script->real[link->file], real) == 0) {
			fault_add(faults, file, line,
				  "this include() leads in a circle: %s is still being read",
				  script->files[link->file]);
			return false;
		}
	for (size_t i = 0; i < script->file_count; i++)
		if (strcmp(script->real[i], real) == 0) {
			fault_add(faults, file, line, "%s is included already; once is enough",
				  script->files[i]);
			return false;
		}
	if (depth > INCLUDES_DEEPEST) {
		fault_add(faults, file, line, "files include each other more than %d deep",
			  INCLUDES_DEEPEST);
		return false;
	}
	return true;
}

/* The text of a file that may be read, taken over by the script. */
static void take_text(struct script *script, const char *path, const char *text, char *real,
		      const struct includer *from, struct faults *faults)
{
	struct includer self = { from, remember_file(script, path, real) };
	struct tokens tokens;

	tokens_read(&tokens, text, script->files[self.file], faults);
	statements_take(script, &tokens, &self, faults);
	tokens_clear(&tokens);
}

static void read_file(struct script *script, const char *path, const struct includer *from,
		      int line, struct faults *faults)
{
	const char *asked = from ? script->files[from->file] : path;
	char *real = realpath(path, NULL);
	char *text;

	if (!real)
		real = must_copy(path);
	if (from && !may_include(script, real, from, line, faults)) {
		free(real);
		return;
	}
	text = configtext_read(path, asked, line, faults);
	if (text) {
		take_text(script, path, text, real, from, faults);
	} else {
		script->incomplete = true;
		free(real);
	}
	free(text);
}

void script_include(struct script *script, const char *path, const struct includer *from,
		    int line, struct faults *faults)
{
	char *full = path_beside(script->files[from->file], path);

	read_file(script, full, from, line, faults);
	free(full);
}

void script_read(struct script *script, const char *path, struct faults *faults)
{
	*script = (struct script){ 0 };
	read_file(script, path, NULL, 0, faults);
}

void script_clear(struct script *script)
{
	for (size_t i = 0; i < script->count; i++) {
		free(script->list[i].name);
		free(script->list[i].text);
	}
	free(script->list);
	for (size_t i = 0; i < script->file_count; i++) {
		free(script->files[i]);
		free(script->real[i]);
	}
	free(script->files);
	free(script->real);
	*script = (struct script){ 0 };
}

void script_drop(struct script *script, size_t index)
{
	size_t last = index;

	if (script->list[index].kind == STATEMENT_OPEN)
		last = script->list[index].close;
	for (size_t i = index; i <= last; i++)
		script->list[i].dropped = true;
}

char *script_place(const struct script *script, size_t inside)
{
	char *place = must_copy("");

	while (inside != NO_STATEMENT) {
		const struct statement *section = &script->list[inside];
		char brief[BRIEF_TEXT];
		char *longer;

		if (section->text)
			longer = must_print("%s \"%s\"%s%s", section->name,
					    utf8_brief(section->text, brief), *place ? ", " : "", place);
		else
			longer = must_print("%s%s%s", section->name, *place ? ", " : "", place);
		free(place);
		place = longer;
		inside = section->inside;
	}
	return place;
}

char *path_beside(const char *from, const char *path)
{
	const char *slash = strrchr(from, '/');

	if (*path == '/' || !slash)
		return must_copy(path);
	return must_print("%.*s/%s", (int)(slash - from), from, path);
}
