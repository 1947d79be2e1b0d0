/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Tokens -> statements; see statement.h.  After a mistake reading goes on
 * behind it, so that one run finds them all; what a mistake may have hidden
 * is remembered in script.incomplete.
 */
#include "conf/statement.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

enum {
	DEEPEST = 16,            /* sections in sections; the grammar knows 4 */
	STATEMENTS_MOST = 40000, /* bounds the time libConfuse takes */
	NAME_MOST = 30,
};

struct reader {
	struct script *script;
	struct faults *faults;
	const struct includer *self;
	const char *file;
	const struct token *at;
	size_t open[DEEPEST]; /* the sections around the present place */
	size_t depth;
	size_t lacking; /* how many } the file has too few */
};

/* Words that begin a named section, and do so only at the top. */
static bool is_top_word(const char *name)
{
	static const char *const words[] = { "bus", "probe", "species", "enclosure", "webhook" };

	for (size_t i = 0; i < sizeof words / sizeof *words; i++)
		if (strcmp(name, words[i]) == 0)
			return true;
	return false;
}

/* What can be the name of a key.  Only such words are shown in faults: a
 * piece of an address or a secret that lost its place looks otherwise. */
static bool is_name(const char *text)
{
	size_t length = strspn(text, "abcdefghijklmnopqrstuvwxyz_-");

	return length > 0 && length <= NAME_MOST && text[length] == '\0';
}

static struct statement *append(struct reader *reader, enum statement_kind kind,
				const struct token *name, int line)
{
	struct script *script = reader->script;
	struct statement *statement;

	if ((script->count & (script->count - 1)) == 0)
		script->list = must_resize(script->list, script->count ? 2 * script->count : 1,
					   sizeof *script->list);
	statement = &script->list[script->count++];
	*statement = (struct statement){
		.kind = kind,
		.name = name ? must_copy(name->text) : NULL,
		.file = reader->file,
		.line = line,
		.inside = reader->depth ? reader->open[reader->depth - 1] : NO_STATEMENT,
		.close = NO_STATEMENT,
	};
	return statement;
}

static void close_section(struct reader *reader)
{
	size_t index = reader->open[--reader->depth];

	reader->script->list[index].close = reader->script->count;
	append(reader, STATEMENT_CLOSE, NULL, reader->at->line);
}

static void not_closed(struct reader *reader, const char *name, int line)
{
	fault_add(reader->faults, reader->file, line,
		  "%s is not closed: its } is missing, or the file is cut short", name);
	reader->script->incomplete = true;
}

/* From { to behind its }. */
static void skip_block(struct reader *reader)
{
	const struct token *from = reader->at;
	size_t depth = 0;

	do {
		if (reader->at->kind == TOKEN_OPEN)
			depth++;
		else if (reader->at->kind == TOKEN_CLOSE)
			depth--;
		else if (reader->at->kind == TOKEN_END) {
			not_closed(reader, "the section that begins here", from->line);
			return;
		}
		reader->at++;
	} while (depth > 0);
}

/* To the end of the line, or to the } that closes the section before it. */
static void skip_line(struct reader *reader, int line)
{
	while (reader->at->line == line && reader->at->kind != TOKEN_CLOSE &&
	       reader->at->kind != TOKEN_END) {
		if (reader->at->kind == TOKEN_OPEN)
			skip_block(reader);
		else
			reader->at++;
	}
}

static bool is_text(const struct token *token)
{
	return token->kind == TOKEN_WORD || token->kind == TOKEN_TEXT;
}

/* A title stands on the line of its word, a { may stand on the next:
 * otherwise "units = C" before "room {" would read as a section C "room". */
static bool begins_section(const struct token *token)
{
	return token->kind == TOKEN_WORD && (token[1].kind == TOKEN_OPEN ||
					     (is_text(token + 1) && token[1].line == token->line &&
					      token[2].kind == TOKEN_OPEN));
}

static bool begins_statement(const struct token *token)
{
	return token->kind == TOKEN_WORD && (token[1].kind == TOKEN_EQUALS ||
					     token[1].kind == TOKEN_LEFT || begins_section(token));
}

/* key = word = ...: a value was forgotten, or it holds an = (as base64 does)
 * and is not in quotes.  What follows may be a piece of it. */
static bool runs_on(const struct token *value)
{
	return value->kind == TOKEN_WORD && value[-1].line == value->line &&
	       value[1].kind == TOKEN_EQUALS && value[1].line == value->line;
}

/* reader->at stands where the value should. */
static void read_value(struct reader *reader, const struct token *name)
{
	struct statement *statement = append(reader, STATEMENT_VALUE, name, name->line);
	const struct token *value = reader->at;

	if (runs_on(value)) {
		fault_add(
			reader->faults, reader->file, name->line,
			"a value is missing after %s =, or it holds an = itself and must stand in "
			"quotes",
			name->text);
		statement->spoiled = true;
		if (reader->depth > 0)
			reader->script->list[reader->open[reader->depth - 1]].unsure = true;
		skip_line(reader, name->line);
		return;
	}
	if (!is_text(value) || begins_statement(value)) {
		fault_add(reader->faults, reader->file, name->line,
			  "a value is missing after %s =", name->text);
		statement->spoiled = true;
		if (!is_text(value))
			skip_line(reader, name->line);
		return;
	}
	statement->text = must_copy(value->text);
	statement->spoiled = value->spoiled;
	reader->at++;
	if (value->spoiled) {
		skip_line(reader, value->line);
	} else if (reader->at->line == value->line && is_text(reader->at) &&
		   !begins_statement(reader->at)) {
		fault_add(
			reader->faults, reader->file, name->line,
			"more than one value stands after %s =; a value of several words is put in "
			"quotes as one text",
			name->text);
		statement->spoiled = true;
		skip_line(reader, value->line);
	}
}

/* One } too few somewhere before this section: close what is open, so that
 * the rest of the file is not taken for its inside. */
static void close_forgotten(struct reader *reader, const struct token *name)
{
	const struct statement *open;

	if (reader->depth == 0 || reader->lacking < reader->depth || !is_top_word(name->text))
		return;
	open = &reader->script->list[reader->open[reader->depth - 1]];
	fault_add(reader->faults, reader->file, name->line,
		  "a } is missing before this: %s, begun on line %d, is still open", open->name,
		  open->line);
	reader->lacking -= reader->depth;
	while (reader->depth > 0)
		close_section(reader);
}

/* reader->at stands at the {. */
static void read_section(struct reader *reader, const struct token *name, const struct token *title)
{
	struct statement *section;
	size_t index;

	if (title)
		close_forgotten(reader, name);
	if (reader->depth == DEEPEST) {
		fault_add(reader->faults, reader->file, name->line,
			  "sections stand inside each other more than %d deep", DEEPEST);
		skip_block(reader);
		return;
	}
	index = reader->script->count;
	section = append(reader, STATEMENT_OPEN, name, name->line);
	if (title) {
		section->text = must_copy(title->text);
		section->spoiled = title->spoiled;
	}
	reader->open[reader->depth++] = index;
	reader->at++;
}

static void read_include(struct reader *reader)
{
	const struct token *word = reader->at;

	if (word[1].kind != TOKEN_LEFT || !is_text(word + 2) || word[3].kind != TOKEN_RIGHT) {
		fault_add(reader->faults, reader->file, word->line,
			  "an include is written include(\"file\")");
		reader->script->incomplete = true;
		skip_line(reader, word->line);
		return;
	}
	reader->at += 4;
	if (reader->depth > 0) {
		fault_add(reader->faults, reader->file, word->line,
			  "include() stands at the top, outside all sections");
		reader->script->incomplete = true;
	} else if (!word[2].spoiled) {
		script_include(reader->script, word[2].text, reader->self, word->line,
			       reader->faults);
	}
}

static void belongs_nowhere(struct reader *reader, int line)
{
	fault_add(reader->faults, reader->file, line,
		  "something stands here that belongs to no statement; write key = \"value\" or "
		  "section { ... }");
}

/* A word that begins none of the statements there are. */
static void read_lone_word(struct reader *reader)
{
	const struct token *word = reader->at;
	bool begins = word->first || word[-1].kind == TOKEN_OPEN || word[-1].kind == TOKEN_CLOSE;
	bool shown = begins && is_name(word->text);

	reader->at++;
	if (shown && is_text(reader->at) && reader->at->line == word->line) {
		fault_add(reader->faults, reader->file, word->line, "an = is missing after %s",
			  word->text);
		read_value(reader, word);
		return;
	}
	if (shown)
		fault_add(reader->faults, reader->file, word->line,
			  "%s stands alone; write %s = \"value\" or %s { ... }", word->text,
			  word->text, word->text);
	else
		belongs_nowhere(reader, word->line);
	skip_line(reader, word->line);
}

static void read_word(struct reader *reader)
{
	const struct token *word = reader->at;

	if (strcmp(word->text, "include") == 0) {
		read_include(reader);
	} else if (begins_statement(word) && !is_name(word->text)) {
		fault_add(reader->faults, reader->file, word->line,
			  "a key or section here has no valid name: names of keys are made of a-z "
			  "and _");
		skip_line(reader, word->line);
	} else if (begins_section(word)) {
		bool titled = word[1].kind != TOKEN_OPEN;

		reader->at += titled ? 2 : 1;
		read_section(reader, word, titled ? word + 1 : NULL);
	} else if (word[1].kind == TOKEN_EQUALS && word[2].kind == TOKEN_OPEN) {
		fault_add(reader->faults, reader->file, word->line,
			  "%s = { is written without =: %s { ... }", word->text, word->text);
		reader->at += 2;
		read_section(reader, word, NULL);
	} else if (word[1].kind == TOKEN_EQUALS) {
		reader->at += 2;
		read_value(reader, word);
	} else {
		read_lone_word(reader);
	}
}

static void read_statement(struct reader *reader)
{
	const struct token *token = reader->at;

	switch (token->kind) {
	case TOKEN_WORD:
		read_word(reader);
		return;
	case TOKEN_CLOSE:
		if (reader->depth > 0)
			close_section(reader);
		else
			fault_add(reader->faults, reader->file, token->line,
				  "a } too many: no section is open here");
		reader->at++;
		return;
	case TOKEN_OPEN:
		fault_add(reader->faults, reader->file, token->line,
			  "a { without the name of a section before it");
		skip_block(reader);
		return;
	case TOKEN_STRAY:
		fault_add(reader->faults, reader->file, token->line,
			  "statements end by themselves: leave out the , or ;");
		reader->at++;
		return;
	default:
		belongs_nowhere(reader, token->line);
		reader->at++;
		skip_line(reader, token->line);
	}
}

static void read_statements(struct reader *reader, bool cut)
{
	while (reader->at->kind != TOKEN_END && !faults_full(reader->faults) &&
	       reader->script->count < STATEMENTS_MOST)
		read_statement(reader);
	if (reader->at->kind != TOKEN_END) {
		if (!faults_full(reader->faults))
			fault_add(reader->faults, reader->file, reader->at->line,
				  "more than %d statements stand before this: nothing so long is "
				  "read",
				  STATEMENTS_MOST);
		cut = true;
	}
	if (reader->depth > 0 && !cut) {
		const struct statement *open =
			&reader->script->list[reader->open[reader->depth - 1]];

		not_closed(reader, open->name, open->line);
	}
	while (reader->depth > 0) {
		reader->script->list[reader->open[reader->depth - 1]].unsure = true;
		close_section(reader);
	}
	if (cut)
		reader->script->incomplete = true;
}

static size_t count_lacking(const struct tokens *tokens)
{
	size_t open = 0, close = 0;

	for (size_t i = 0; i < tokens->count; i++) {
		open += tokens->list[i].kind == TOKEN_OPEN;
		close += tokens->list[i].kind == TOKEN_CLOSE;
	}
	return open > close ? open - close : 0;
}

void statements_take(struct script *script, const struct tokens *tokens,
		     const struct includer *self, struct faults *faults)
{
	struct reader reader = {
		.script = script,
		.faults = faults,
		.self = self,
		.file = script->files[self->file],
		.at = tokens->list,
		.lacking = count_lacking(tokens),
	};

	if (tokens->garbled)
		script->garbled = script->incomplete = true;
	read_statements(&reader, tokens->cut);
}
