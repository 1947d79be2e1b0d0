/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The words of the configuration, the archive and the outputs, for each
 * member of the enums in model.h.  One spelling, kept here, for both programs.
 */
#ifndef WARMSIDE_CONF_WORDS_H
#define WARMSIDE_CONF_WORDS_H

#include "conf/model.h"

/* "cool_side": as configuration, JSON and CSV write it.  Never NULL. */
const char *place_word(enum place place);

/* "cool side": as people read it. */
const char *place_phrase(enum place place);

/* "cool": the short form that data source names begin with. */
const char *place_short(enum place place);

/* "temperature" or "humidity". */
const char *quantity_word(enum quantity quantity);

/* "too cold", "dangerously damp": what is wrong with a reading on that side of
 * its band, or beyond its limits. */
const char *complaint_phrase(enum quantity quantity, bool below, bool limits);

/* "tub", "glass", ... */
const char *build_word(enum build build);

/* The other way round; false when the word is none of ours. */
bool place_from_word(const char *word, enum place *place);
bool quantity_from_word(const char *word, enum quantity *quantity);

/* True when the probe at this place delivers this quantity. */
bool has_series(const struct conf *conf, const struct enclosure *enclosure,
		enum place place, enum quantity quantity);

/* How many enclosures there are, the room not counted. */
size_t enclosures_proper(const struct conf *conf);

/* The enclosure of that name, or NULL.  "room" finds the room. */
const struct enclosure *find_enclosure(const struct conf *conf, const char *name);

#endif
