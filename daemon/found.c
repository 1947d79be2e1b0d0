/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Findings as lines of the configuration; see found.h.
 */
#include "daemon/found.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/utf8.h"
#include "conf/words.h"

const char *found_parity(enum parity parity)
{
	static const char *const words[] = {
		[PARITY_NONE] = "none", [PARITY_EVEN] = "even", [PARITY_ODD] = "odd",
	};

	return words[parity];
}

char *found_values(const bool has[QUANTITIES], const double value[QUANTITIES], enum units units,
		   char buf[FOUND_TEXT])
{
	char one[MEASURE_TEXT];
	int used = 0;

	buf[0] = '\0';
	for (int q = 0; q < QUANTITIES; q++)
		if (has[q])
			used += snprintf(buf + used, FOUND_TEXT - (size_t)used, "%s%s",
					 used ? ", " : "",
					 show_value(value[q], (enum quantity)q, units, one));
	return buf;
}

static char *fit_values(const struct layout_fit *fit, enum units units, char buf[FOUND_TEXT])
{
	bool has[QUANTITIES];

	for (int q = 0; q < QUANTITIES; q++)
		has[q] = fit->layout->registers[q].present;
	return found_values(has, fit->value, units, buf);
}

char *found_reading(const struct scan_found *found, enum units units, char buf[FOUND_TEXT])
{
	buf[0] = '\0';
	return found->fit_count ? fit_values(&found->fits[0], units, buf) : buf;
}

/* A text between quotes. */
static void print_quoted(FILE *out, const char *text)
{
	putc('"', out);
	for (; *text; text++) {
		if (*text == '"' || *text == '\\')
			putc('\\', out);
		if (*text == '\t')
			fputs("\\t", out);
		else
			putc(*text, out);
	}
	putc('"', out);
}

/* ---- modbus ---- */

void found_print_rack(FILE *out, const char *bus, const char *port, const struct scan_found *found)
{
	fprintf(out, "bus \"%s\" { port = ", bus);
	print_quoted(out, port);
	fprintf(out, "  speaks = \"modbus\"  baud = %d  parity = \"%s\"%s }\n", found->baud,
		found_parity(found->parity),
		found->stop_bits == 2 ? "  stop_bits = 2" : "");
}

static void print_registers(FILE *out, const struct layout_fit *fit)
{
	char text[LAYOUT_TEXT];

	for (int q = 0; q < QUANTITIES; q++)
		if (fit->layout->registers[q].present)
			fprintf(out, "  %s = \"%s\"", quantity_word((enum quantity)q),
				layout_register(&fit->layout->registers[q], text));
}

static void print_excuse(FILE *out, const struct scan_found *found)
{
	if (found->garbled)
		fprintf(out, "# Something answers at address %d, but garbled.  Two probes with one "
			"address?  Connect\n# one at a time.  Else: another parity, A and B swapped, or "
			"a bad contact.\n", found->address);
	else
		fprintf(out, "# Somebody is at address %d%s, but no usual register of it holds the "
			"temperature of a\n# home.  Its paper tells where it is; see "
			"contrib/registers.md.\n", found->address,
			found->refused ? " and answers" : "");
}

void found_print_probe(FILE *out, const char *name, const char *bus,
		       const struct scan_found *found, enum units units)
{
	char text[FOUND_TEXT];

	if (found->garbled || found->fit_count == 0) {
		print_excuse(out, found);
		return;
	}
	fprintf(out, "probe \"%s\" { bus = \"%s\"  address = %d", name, bus, found->address);
	print_registers(out, &found->fits[0]);
	fprintf(out, " }  # %s%s%s\n", fit_values(&found->fits[0], units, text),
		found->fits[0].likely ? "" : "; unlikely in a home: is it right?",
		found->late ? "; it answers late" : "");
	for (size_t i = 1; i < found->fit_count; i++) {
		fputs("#   or it has", out);
		print_registers(out, &found->fits[i]);
		fprintf(out, ": %s\n", fit_values(&found->fits[i], units, text));
	}
}

/* ---- lines ---- */

void found_print_board(FILE *out, const char *bus, const char *port, const struct heard *heard)
{
	const char *stranger = heard_stranger(heard);
	double interval;

	fprintf(out, "bus \"%s\" { port = ", bus);
	print_quoted(out, port);
	fprintf(out, "  speaks = \"lines\"  baud = %d  line = ", heard->baud);
	print_quoted(out, heard->guess.text);
	if (heard_interval(heard, &interval))
		fprintf(out, "  every = \"%.0fs\"", fmax(ceil(interval - 0.1), 1));
	fputs(" }\n", out);
	if (heard->guess.fahrenheit)
		fputs("# A temperature above 50: if the board prints °F, write {temperature_f} for "
		      "{temperature}.\n", out);
	if (heard->guess.counter)
		fputs("# A number that grows with every line was taken for a counter: were it a probe's, it "
		      "would be {probe}.\n", out);
	if (stranger)
		fprintf(out, "# Lines of another kind come too, which are passed over, such as\n#     %s\n",
			stranger);
}

/* True for a byte that goes on with a character of UTF-8. */
static bool is_continued(char byte)
{
	return ((unsigned char)byte & 0xc0) == 0x80;
}

/* Names are made of letters, digits, blanks, - and _. */
static void name_of(const char *bus, const char *token, char name[FOUND_NAME])
{
	int used = snprintf(name, FOUND_NAME, "%.20s%s", bus, *token ? " " : "");
	char *to = name;

	snprintf(name + used, (size_t)(FOUND_NAME - used), "%.*s", FOUND_NAME - 1 - used, token);
	for (const char *c = name; *c; c++)
		if (isalnum((unsigned char)*c) || strchr(" -_", *c))
			*to++ = *c;
		else if (!is_continued(*c))
			*to++ = '_';
	*to = '\0';
	for (size_t end = strlen(name); end > 0 && name[end - 1] == ' '; end--)
		name[end - 1] = '_';
}

static bool is_taken(char names[HEARD_PROBES][FOUND_NAME], size_t count, size_t but,
		     const char *name)
{
	for (size_t i = 0; i < count; i++)
		if (i != but && strcmp(names[i], name) == 0)
			return true;
	return false;
}

/* What the configuration can hold as an address. */
static bool is_address(const char *token)
{
	return utf8_is_line(token, TOKEN_MOST);
}

/* Those whose name can be written, in front; returns how many. */
static size_t writable_probes(const struct heard *heard, struct heard_probe probes[HEARD_PROBES])
{
	size_t all = heard_probes(heard, probes), count = 0;

	for (size_t i = 0; i < all; i++)
		if (is_address(probes[i].values.token))
			probes[count++] = probes[i];
	return count;
}

size_t found_names(const char *bus, const struct heard *heard, char names[HEARD_PROBES][FOUND_NAME])
{
	struct heard_probe probes[HEARD_PROBES];
	size_t count = writable_probes(heard, probes), number = 0;

	for (size_t i = 0; i < count; i++)
		name_of(bus, probes[i].values.token, names[i]);
	/* Two that differ in what a name cannot hold; "number 2" may be a name as well. */
	for (size_t i = 1; i < count; i++)
		while (is_taken(names, count, i, names[i]))
			snprintf(names[i], FOUND_NAME, "%.10s number %zu", bus, ++number);
	return count;
}

/* Behind a probe: what it reads, and what is to be doubted of it. */
static void print_heard(FILE *out, const struct line_values *values, bool fahrenheit,
			enum units units)
{
	char text[FOUND_TEXT];
	bool likely = true;

	for (int q = 0; q < QUANTITIES; q++)
		likely = likely && (!values->has[q] || layout_likely((enum quantity)q, values->value[q]));
	found_values(values->has, values->value, units, text);
	fprintf(out, " }  # %s%s\n", *text ? text : "no value: is its sensor connected?",
		likely || fahrenheit ? "" : "; unlikely in a home: is it right?");
}

void found_print_board_probes(FILE *out, const char *bus, const struct heard *heard,
			      enum units units)
{
	struct heard_probe probes[HEARD_PROBES];
	char names[HEARD_PROBES][FOUND_NAME];
	size_t count = writable_probes(heard, probes), all;

	found_names(bus, heard, names);
	for (size_t i = 0; i < count; i++) {
		const struct line_values *values = &probes[i].values;

		fprintf(out, "probe \"%s\" { bus = \"%s\"", names[i], bus);
		if (*values->token) {
			fputs("  address = ", out);
			print_quoted(out, values->token);
		}
		print_heard(out, values, heard->guess.fahrenheit, units);
	}
	all = heard_probes(heard, probes);
	for (size_t i = 0; i < all; i++)
		if (!is_address(probes[i].values.token))
			fprintf(out, "# Left out, for its name has a tab in it or more than %d characters: %s\n",
				TOKEN_MOST, probes[i].values.token);
}
