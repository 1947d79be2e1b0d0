/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Words, texts and braces; see token.h.
 */
#include "conf/token.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

struct scanner {
	struct tokens *tokens;
	const char *at;
	const char *line_start;
	const char *file;
	int line;
	struct faults *faults;
};

static struct token *add(struct scanner *scanner, enum token_kind kind)
{
	struct tokens *tokens = scanner->tokens;
	struct token *token;

	if (tokens->count == tokens->room) {
		tokens->room = tokens->room ? 2 * tokens->room : 64;
		tokens->list = must_resize(tokens->list, tokens->room, sizeof *tokens->list);
	}
	token = &tokens->list[tokens->count++];
	*token = (struct token){ .kind = kind, .line = scanner->line, .first = true };
	if (tokens->count > 1)
		token->first = token[-1].line != token->line;
	return token;
}

static bool comment_begins(const char *at)
{
	return *at == '#' || (at[0] == '/' && (at[1] == '/' || at[1] == '*'));
}

/* A comment is skipped; its lines are counted. */
static void skip_comment(struct scanner *scanner)
{
	const char *end;

	if (*scanner->at == '#' || scanner->at[1] == '/') {
		scanner->at += strcspn(scanner->at, "\n");
		return;
	}
	end = strstr(scanner->at + 2, "*/");
	if (!end) {
		fault_add(scanner->faults, scanner->file, scanner->line,
			  "the comment that begins here with /* has no end; close it with */");
		scanner->tokens->cut = true;
		scanner->at += strlen(scanner->at);
		return;
	}
	for (; scanner->at < end; scanner->at++)
		if (*scanner->at == '\n')
			scanner->line++;
	scanner->at = end + 2;
}

static bool ends_word(const char *at)
{
	return *at == '\0' || strchr(" \t\r\n\f\"'{}()=,;", *at) || comment_begins(at) ||
	       (at[0] == '+' && at[1] == '=');
}

static void take_word(struct scanner *scanner)
{
	const char *from = scanner->at;
	struct token *word = add(scanner, TOKEN_WORD);

	while (!ends_word(scanner->at))
		scanner->at++;
	word->text = must_calloc((size_t)(scanner->at - from) + 1, 1);
	memcpy(word->text, from, (size_t)(scanner->at - from));
	/* A path or an address without quotes must not lose its end silently. */
	if (scanner->at[0] == '/' && scanner->at[1] == '/' &&
	    (*from == '/' || scanner->at[-1] == ':')) {
		fault_add(scanner->faults, scanner->file, scanner->line,
			  "// begins a comment here; a path or an address that holds it stands in "
			  "quotes");
		word->spoiled = true;
	}
}

static int hex_value(char c)
{
	static const char digits[] = "0123456789abcdef0123456789ABCDEF";
	const char *found = c ? strchr(digits, c) : NULL;

	return found ? (int)((found - digits) % 16) : -1;
}

/* The character an escape in "..." stands for, or -1; *at moves behind it. */
static int take_escape(const char **at)
{
	static const char from[] = "\\\"'nrt", to[] = "\\\"'\n\r\t";
	const char *known;
	int value;

	if (**at == 'x') {
		value = hex_value((*at)[1]);
		if (value < 0)
			return -1;
		*at += 2;
		if (hex_value(**at) >= 0)
			value = value * 16 + hex_value(*(*at)++);
		return value ? value : -1;
	}
	known = **at ? strchr(from, **at) : NULL;
	if (!known)
		return -1;
	++*at;
	return to[known - from];
}

/* How many more } than { there are. */
static int count_surplus(const char *from, const char *end)
{
	int surplus = 0;

	for (; from < end; from++)
		surplus += *from == '}' ? 1 : *from == '{' ? -1 : 0;
	return surplus;
}

/* A text without its closing quote ends with its line at the latest.  When
 * it holds more } than {, those at its end closed sections: they are left
 * standing, so that one missing quote is one fault. */
static const char *end_of_broken_text(const char *from)
{
	const char *end = from + strcspn(from, "\n");
	int surplus = count_surplus(from, end);

	while (surplus > 0 && end > from && strchr(" \t\r}", end[-1]))
		surplus -= *--end == '}' ? 1 : 0;
	return end;
}

/* With other texts before it on the line nobody knows which quote is
 * missing, and all between them are taken the wrong way round: when the
 * line opens and closes as many sections, it is best left out as a whole. */
static bool leave_out_line(struct scanner *scanner)
{
	struct tokens *tokens = scanner->tokens;
	const char *end = scanner->at + strcspn(scanner->at, "\n");
	size_t first = tokens->count;
	bool texts = false;

	while (first > 0 && tokens->list[first - 1].line == scanner->line)
		if (tokens->list[--first].kind == TOKEN_TEXT)
			texts = true;
	if (!texts || count_surplus(scanner->line_start, end) != 0)
		return false;
	while (tokens->count > first)
		free(tokens->list[--tokens->count].text);
	tokens->garbled = true;
	scanner->at = end;
	return true;
}

static const char *closing_quote(const char *from, char quote)
{
	for (; *from != '\0' && *from != '\n'; from++) {
		if (*from == quote)
			return from;
		if (*from == '\\' && from[1] != '\0' && from[1] != '\n')
			from++;
	}
	return NULL;
}

static void take_broken_text(struct scanner *scanner, char quote)
{
	struct token *text;

	fault_add(scanner->faults, scanner->file, scanner->line,
		  "a quote is missing on this line: each text begins and ends with %c", quote);
	if (leave_out_line(scanner))
		return;
	text = add(scanner, TOKEN_TEXT);
	text->spoiled = true;
	text->text = must_copy("");
	scanner->at = end_of_broken_text(scanner->at);
}

static void take_text(struct scanner *scanner)
{
	char quote = *scanner->at++;
	const char *end = closing_quote(scanner->at, quote);
	struct token *text;
	size_t length = 0;

	if (!end) {
		take_broken_text(scanner, quote);
		return;
	}
	text = add(scanner, TOKEN_TEXT);
	text->text = must_calloc((size_t)(end - scanner->at) + 1, 1);
	while (scanner->at < end) {
		int value = (unsigned char)*scanner->at++;

		if (value == '\\' && (quote == '"' || *scanner->at == '\\' || *scanner->at == '\''))
			value = take_escape(&scanner->at);
		if (value < 0) {
			fault_add(scanner->faults, scanner->file, scanner->line,
				  "a \\ in \"...\" stands before one of \\ \" n r t or xHH; a "
				  "backslash "
				  "itself is \\\\");
			text->spoiled = true;
			break;
		}
		text->text[length++] = (char)value;
	}
	scanner->at = end + 1;
}

static void take_sign(struct scanner *scanner)
{
	static const struct {
		char sign;
		enum token_kind kind;
	} signs[] = {
		{ '=', TOKEN_EQUALS }, { '{', TOKEN_OPEN },  { '}', TOKEN_CLOSE },
		{ '(', TOKEN_LEFT },   { ')', TOKEN_RIGHT }, { ',', TOKEN_STRAY },
		{ ';', TOKEN_STRAY },
	};

	for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
		if (signs[i].sign == *scanner->at)
			add(scanner, signs[i].kind);
	scanner->at++;
}

static void take_token(struct scanner *scanner)
{
	char c = *scanner->at;

	if (c == '\n') {
		scanner->line++;
		scanner->line_start = scanner->at + 1;
	}
	if (strchr(" \t\r\n\f", c)) {
		scanner->at++;
	} else if (comment_begins(scanner->at)) {
		skip_comment(scanner);
	} else if (c == '"' || c == '\'') {
		take_text(scanner);
	} else if (c == '+' && scanner->at[1] == '=') {
		fault_add(scanner->faults, scanner->file, scanner->line,
			  "+= has no meaning here; write =");
		scanner->at++;
	} else if (strchr("{}()=,;", c)) {
		take_sign(scanner);
	} else {
		take_word(scanner);
	}
}

void tokens_read(struct tokens *tokens, const char *text, const char *file, struct faults *faults)
{
	*tokens = (struct tokens){ 0 };
	struct scanner scanner = { tokens, text, text, file, 1, faults };

	while (*scanner.at != '\0' && !faults_full(faults))
		take_token(&scanner);
	tokens->cut = tokens->cut || *scanner.at != '\0';
	add(&scanner, TOKEN_END);
}

void tokens_clear(struct tokens *tokens)
{
	for (size_t i = 0; i < tokens->count; i++)
		free(tokens->list[i].text);
	free(tokens->list);
	*tokens = (struct tokens){ 0 };
}
