/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The command line; see options.h.
 */
#include "report/options.h"

#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/words.h"

enum { LEAST_PIXELS = 200, MOST_PIXELS = 8000 };

const char options_help[] =
	"  -c, --config FILE     the configuration (" DEFAULT_CONF ")\n"
	"      --from TIME       beginning of the window (24 hours before its end; drying, away: 14 days)\n"
	"      --to TIME         end of the window (now); a TIME is ISO 8601, epoch seconds or\n"
	"                        an at-style time such as -2d or \"midnight yesterday\"\n"
	"      --format FORMAT   text, json or csv; for graph png or svg; for morning html,\n"
	"                        text or json\n"
	"  -o, --output FILE     graph, morning, drying ENCLOSURE: where to write it; the\n"
	"                        ending (.png, .svg, .html, .txt, .json) says the format\n"
	"      --size WxH        graph, drying: in pixels\n"
	"      --scale RANGE     graph: the value axis, such as \"20..35 C\" or \"30..90 %\"\n"
	"      --salt SALT       salt: what the jar held, such as nacl; --salt, --from and --to\n"
	"                        twice for two salts, in the same order\n"
	"      --save            drying: keep what was found, every night\n"
	"      --by WHO          shelve, ack: who asks (your login name)\n"
	"      --note TEXT       shelve, ack: why; it is kept in the alert log\n"
	"  -h, --help            this text\n"
	"      --version         the version\n";

static bool read_format(const char *text, enum format *out)
{
	static const char *const words[] = {
		[FORMAT_TEXT] = "text", [FORMAT_JSON] = "json", [FORMAT_CSV] = "csv",
		[FORMAT_PNG] = "png",   [FORMAT_SVG] = "svg",   [FORMAT_HTML] = "html",
	};

	for (int i = FORMAT_TEXT; i <= FORMAT_HTML; i++)
		if (strcmp(text, words[i]) == 0) {
			*out = (enum format)i;
			return true;
		}
	fprintf(stderr, "warmside: --format %s is not known; it is text, json or csv, for graph "
		"png or svg, for morning html, text or json\n", text);
	return false;
}

static bool read_size(const char *text, int *width, int *height)
{
	int length = 0;

	if (sscanf(text, "%5dx%5d%n", width, height, &length) == 2 && !text[length] &&
	    *width >= LEAST_PIXELS && *width <= MOST_PIXELS && *height >= LEAST_PIXELS &&
	    *height <= MOST_PIXELS)
		return true;
	fprintf(stderr, "warmside: --size %s is none; write WIDTHxHEIGHT, each %d to %d pixels, "
		"for example 1200x800\n", text, LEAST_PIXELS, MOST_PIXELS);
	return false;
}

/* The unit says which quantity's axis it is. */
static bool read_scale(const char *text, struct options *out)
{
	for (int quantity = 0; quantity < QUANTITIES; quantity++) {
		struct range *scale = &out->scale[quantity];

		if (!parse_range(text, (enum quantity)quantity, scale))
			continue;
		if (out->has_scale[quantity])
			fprintf(stderr, "warmside: --scale %s is the second for the %s; give one\n", text,
				quantity_word((enum quantity)quantity));
		else if (!(scale->low < scale->high))
			fprintf(stderr, "warmside: --scale %s has no room between its ends; write for "
				"example \"20..35 C\"\n", text);
		else
			return out->has_scale[quantity] = true;
		return false;
	}
	fprintf(stderr, "warmside: --scale %s is none; write LOW..HIGH and its unit, for example "
		"\"20..35 C\", \"68..95 F\" or \"30..90 %%\"\n", text);
	return false;
}

/* The n-th of those that may be given for each salt. */
static void keep(const char *value, const char *list[SALT_TESTS], size_t *count)
{
	if (*count < SALT_TESTS)
		list[*count] = value;
	++*count;
}

static bool read_salt(const char *text, struct options *out)
{
	enum salt salt;

	if (salt_from_word(text, &salt)) {
		if (out->salt_count < SALT_TESTS)
			out->salts[out->salt_count] = salt;
		out->salt_count++;
		return true;
	}
	fprintf(stderr, "warmside: --salt %s is not known; known are", text);
	for (int s = 0; s < SALTS; s++)
		fprintf(stderr, "%s %s (%s)", s ? "," : "", salt_word((enum salt)s),
			salt_title((enum salt)s));
	fputc('\n', stderr);
	return false;
}

/* One option; false when its value is wrong or it is unknown. */
static bool take(int option, const char *value, struct options *out)
{
	switch (option) {
	case 'c':
		out->conf = value;
		return true;
	case 'o':
		out->output = value;
		return true;
	case 'h':
		return out->help = true;
	case 'V':
		return out->version = true;
	case 'f':
		keep(value, out->froms, &out->from_count);
		out->from = out->froms[0];
		return true;
	case 't':
		keep(value, out->tos, &out->to_count);
		out->to = out->tos[0];
		return true;
	case 'F':
		return read_format(value, &out->format);
	case 'b':
		out->by = value;
		return true;
	case 'n':
		out->note = value;
		return true;
	case 'r':
		return read_scale(value, out);
	case 'l':
		return read_salt(value, out);
	case 'S':
		return out->save = true;
	case 's':
		return read_size(value, &out->width, &out->height);
	default:
		return false; /* getopt has said so */
	}
}

bool options_parse(int argc, char *argv[], struct options *out)
{
	static const struct option longs[] = {
		{ "by", required_argument, NULL, 'b' },
		{ "config", required_argument, NULL, 'c' },
		{ "format", required_argument, NULL, 'F' },
		{ "from", required_argument, NULL, 'f' },
		{ "help", no_argument, NULL, 'h' },
		{ "note", required_argument, NULL, 'n' },
		{ "output", required_argument, NULL, 'o' },
		{ "salt", required_argument, NULL, 'l' },
		{ "save", no_argument, NULL, 'S' },
		{ "scale", required_argument, NULL, 'r' },
		{ "size", required_argument, NULL, 's' },
		{ "to", required_argument, NULL, 't' },
		{ "version", no_argument, NULL, 'V' },
		{ 0 },
	};
	int option;

	*out = (struct options){ .format = FORMAT_UNSAID };
	while ((option = getopt_long(argc, argv, "c:ho:", longs, NULL)) != -1)
		if (!take(option, optarg, out))
			return false;
	out->words = argv + optind;
	out->word_count = (size_t)(argc - optind);
	return true;
}
