/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A day on which band and limits move, by a season or by an edit that was read: graph,
 * findings and excursions judge what was before by what was wanted then.
 */
#include "tests/cm.h"

#include <stdlib.h>

#include "report/graph.h"
#include "tests/account_case.h"

static void says(char *text, const char *expected)
{
	assert_string_equal(text, expected);
	free(text);
}

/* The band's middle was 29 °C for 10 h 30 min a day, 27 in 3 h of changeover, 26 by night:
 * 27.44 in the mean, and 10.5 after the step, which the last of the seven days has in 4 of its
 * hours, 24.48; 27.01 in all.  What follows the band, or lags behind, is no news; what goes
 * beyond it, or the other way, is. */
static void a_change_its_band_explains_is_no_news(void **state)
{
	const struct {
		double mean, reading, days; /* before, now, days since */
		const char *change;
	} table[] = {
		{ 28, 11, 1, NULL },
		{ 28, 20, 1, NULL },
		{ 28, 9, 1, "19.0 °C cooler (its band moved by 16.5 °C) than in the same hours of "
			    "the 7 days before" },
		{ 11, 11.6, 1, "0.6 °C warmer than in the same hours of the 7 days before" },
		{ 28, 11, 9, "17.0 °C cooler than in the same hours of the 7 days before" },
	};

	for (int move = 0; move < CASE_MOVES; move++)
		for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
			struct account_case *c;
			double from = CASE_NOON + table[i].days * 86400;
			struct earlier earlier = { .windows = 7, .mean = table[i].mean };
			char *change;

			assert_int_equal(account_case_begin((void **)&c), 0);
			for (size_t d = 0; d < 7; d++)
				earlier.list[d] = (struct window){ from - 86400.0 * (double)(d + 1),
								   from - 86400.0 * (double)d };
			account_case_move(c, (enum case_move)move);
			account_case_rows(c, from, 1440, 60);
			account_case_put(c, WARM_T, 0, 1440, table[i].reading);
			account_case_reckon(c);
			series_compare(&c->account.series[WARM_T], earlier, c->base.window);
			change = series_change(&c->account.series[WARM_T], c->base.window, CELSIUS);
			if (table[i].change ? !change || strcmp(change, table[i].change) != 0
					    : change != NULL)
				fail_msg("move %d, row %zu: %s", move, i, change ? change : "nothing");
			free(change);
			account_case_end((void **)&c);
		}
	(void)state;
}

/* 34 °C before the step is within the limits of then, 24 °C after it is not; and the words
 * are about the band even though they moved. */
static void beyond_the_limits_of_then(void **state)
{
	const struct {
		size_t from, to;
		double value;
		bool beyond;
		const char *finding;
	} table[] = {
		{ 100, 200, 34, false, "Above its band for 1 h 40 min, highest 34.0 °C" },
		{ 100, 200, 36.5, true, "Above its band for 1 h 40 min, highest 36.5 °C, beyond its "
					"limits" },
		{ 1300, 1400, 17, false, "Above its band for 1 h 40 min, highest 17.0 °C" },
		{ 1300, 1400, 24, true, "Above its band for 1 h 40 min, highest 24.0 °C, beyond its "
					"limits" },
		{ 1300, 1400, 5, false, "Below its band for 1 h 40 min, lowest 5.0 °C" },
		{ 100, 200, 14, true, "Below its band for 1 h 40 min, lowest 14.0 °C, beyond its "
				      "limits" },
	};

	for (int move = 0; move < CASE_MOVES; move++)
		for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
			struct account_case *c;
			const struct series_account *series;

			assert_int_equal(account_case_begin((void **)&c), 0);
			account_case_move(c, (enum case_move)move);
			account_case_put(c, WARM_T, 1200, 1440, 11);
			account_case_put(c, WARM_T, table[i].from, table[i].to, table[i].value);
			series = &account_case_reckon(c)->series[WARM_T];
			says(series_finding(&c->account, series, CELSIUS), table[i].finding);
			assert_int_equal(series->excursions.count, 1);
			assert_int_equal(series->excursions.list[0].beyond_limits, table[i].beyond);
			assert_int_equal(c->account.unsafe, table[i].beyond);
			account_case_end((void **)&c);
		}
	(void)state;
}

/* The graph of a case whose warm side moves, and its account. */
static char *paint_moved(struct account_case *c, struct graph *graph)
{
	struct graph_input input = { .account = account_case_reckon(c),
				     .alerts = &c->alerts.history };
	char *trouble = NULL, *svg;
	size_t size;

	for (int place = 0; place < PLACES; place++)
		input.wanted[place] = true;
	assert_true(graph_plan(&input, graph, &trouble));
	svg = (char *)graph_paint(graph, true, &size, &trouble);
	assert_non_null(svg);
	return svg;
}

/* Above, and within the limits of then or beyond them, on both sides of the step. */
static void it_is_hatched_by_the_limits_of_then(void **state)
{
	const struct {
		size_t from, to;
		double value;
		bool beyond;
	} table[] = { { 100, 200, 34, false }, { 100, 200, 37, true },
		      { 1300, 1400, 17, false }, { 1300, 1400, 24, true } };

	for (int move = 0; move < CASE_MOVES; move++)
		for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
			struct account_case *c;
			struct graph graph;
			char *svg;

			assert_int_equal(account_case_begin((void **)&c), 0);
			account_case_move(c, (enum case_move)move);
			account_case_put(c, WARM_T, 1200, 1440, 11);
			account_case_put(c, WARM_T, table[i].from, table[i].to, table[i].value);
			svg = paint_moved(c, &graph);
			assert_int_equal(strstr(svg, "Hatched: beyond") != NULL, table[i].beyond);
			assert_int_equal(strstr(svg, "stroke-width=\"1.2\"") != NULL,
					 table[i].beyond);
			free(svg);
			graph_clear(&graph);
			account_case_end((void **)&c);
		}
	(void)state;
}

static void a_heading_says_what_moved(void **state)
{
	/* Days from the one of the step, and what is said then. */
	const struct {
		double day;
		const char *said[WANTED_WORDS]; /* the shorter ones NULL where they are the same */
		bool season;
	} table[] = {
		{ -1, { "wanted 27..31 °C by day, 23..29 °C by night; limits 15..36 °C" }, false },
		{ 0, { "wanted 8..13 °C at the end, 27..31 °C by day, 23..29 °C by night at the "
		       "beginning; limits 4..18 °C at the end, 15..36 °C at the beginning",
		       "wanted 8..13 °C at the end, 27..31 °C by day, 23..29 °C by night at the "
		       "beginning; limits 4..18 °C at the end",
		       "wanted 8..13 °C at the end; limits 4..18 °C at the end" }, true },
		{ 1, { "wanted 8..13 °C; limits 4..18 °C" }, true },
	};

	for (int move = 0; move < CASE_MOVES; move++)
		for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
			bool season = table[i].season && move == MOVED_BY_SEASON;
			struct account_case *c;
			struct graph graph;
			char *svg;

			assert_int_equal(account_case_begin((void **)&c), 0);
			account_case_move(c, (enum case_move)move);
			account_case_rows(c, CASE_NOON + table[i].day * 86400, 1440, 60);
			svg = paint_moved(c, &graph);
			for (int words = 0; words < WANTED_WORDS; words++) {
				char *said = panel_wanted(&graph.panels[0],
							  (enum wanted_words)words, CELSIUS);
				const char *due = table[i].said[words];

				assert_string_equal(said, due ? due : table[i].said[0]);
				free(said);
			}
			assert_non_null(strstr(svg, table[i].said[i == 1 ? WANTED_BAND : 0]));
			assert_int_equal(strstr(graph.title, " · season brumation") != NULL, season);
			free(svg);
			graph_clear(&graph);
			account_case_end((void **)&c);
		}
	(void)state;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_change_its_band_explains_is_no_news),
		cmocka_unit_test(beyond_the_limits_of_then),
		cmocka_unit_test(it_is_hatched_by_the_limits_of_then),
		cmocka_unit_test(a_heading_says_what_moved),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
