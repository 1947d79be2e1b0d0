/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The configured things: everything warmside.conf can say, and nothing else.
 * Filled once by load.c, then never changed; live things (latest readings,
 * what strays, what stands) have types of their own in daemon/.
 *
 * Units everywhere: temperatures in degrees Celsius, humidities in percent
 * relative humidity, times in seconds, instants in seconds since the epoch.
 */
#ifndef WARMSIDE_CONF_MODEL_H
#define WARMSIDE_CONF_MODEL_H

#include <stdbool.h>
#include <stddef.h>

enum quantity { TEMPERATURE, HUMIDITY, QUANTITIES };

/* ROOM_AIR is the one place of the room; the others are an enclosure's. */
enum place { HOT_SPOT, WARM_SIDE, COOL_SIDE, HUMID_HIDE, EGGS, ROOM_AIR, PLACES };

/* How urgent a message is, in rising order. */
enum priority { UPKEEP, TODAY, NOW, PRIORITIES };

enum build { TUB, GLASS, SCREEN, PVC, MELAMINE, TABLE, INCUBATOR, BUILDS };

/* Lowest and highest value still inside. */
struct range {
	double low, high;
};

/* What is wanted of one quantity at one place.  A flag says whether a value
 * is there at all: absence is never a number.  Built-in defaults (patience,
 * limits_patience, deadband, on_delay, off_delay) are filled in by the loader,
 * so whoever reads a rule needs no fallback of its own. */
struct rule {
	bool has_band;          /* day and night are valid */
	bool has_limits;        /* limits is valid */
	struct range day, night;
	struct range limits;
	bool has_patience;      /* patience is somebody's, not the built-in one */
	double patience;        /* s outside the band before somebody is told */
	bool has_limits_patience; /* limits_patience is somebody's, not the built-in one */
	double limits_patience; /* s outside the limits, humidity only */
	bool has_daily;         /* daily is valid */
	double daily;           /* s outside the band in any 24 hours, however often */
	double deadband;        /* °C or %: how far inside counts as back */
	double on_delay;        /* s outside without a break before anything is told */
	double off_delay;       /* s inside by the deadband before it is over */
	char *source;           /* where the band comes from; NULL if unsaid */
	struct rule_season *seasons; /* what changes it, the later over the former; see season.h */
	size_t season_count;    /* 0 nearly always */
};

/* A day of the year; 02-29 is 03-01 in a year without it. */
struct month_day {
	int month, day;         /* 1..12, 1..31 */
};

enum season_kind {
	UNDATED,                /* a profile: in force nowhere until an enclosure gives dates */
	YEARLY,
	ONCE,
};

/* When a season is in force: from the change to day on its first date until
 * the change to day on its last, at which it is over.  Dates of a single year
 * are days since 1970-01-01. */
struct season_dates {
	enum season_kind kind;
	struct month_day first, last; /* YEARLY; may run over new year */
	bool has_from;          /* ONCE: from is valid; else it has always been so */
	int from, until;        /* ONCE */
	int ramp;               /* days in which it comes and in which it goes; 0: at once */
};

/* What a season makes of one rule.  The flags say which keys it has a word on. */
struct season_rule {
	enum place place;
	enum quantity quantity;
	bool day, night, limits;
	bool patience, limits_patience, daily, deadband, on_delay, off_delay, source;
	struct rule rule;       /* the ordinary rule with them put in */
};

/* What a message advises on, a text for each. */
enum advice { ADVICE_COLD, ADVICE_HOT, ADVICE_DRY, ADVICE_DAMP, ADVICE_GRADIENT, ADVICE_SILENT,
	      ADVICE_FROZEN, ADVICES };

struct season {
	char *name;
	struct season_dates dates;
	char *advice[ADVICES];  /* while it is in force; NULL: as without it */
	struct season_rule *rules;
	size_t rule_count;
};

/* A season as a rule sees it; both belong to the season. */
struct rule_season {
	const struct season_dates *dates;
	const struct season_rule *says;
};

/* A linear correction: corrected = offset + slope * read. */
struct correction {
	double offset, slope;   /* 0 and 1 when none is configured */
};

enum speaks { SPEAKS_MODBUS, SPEAKS_LINES };
enum parity { PARITY_NONE, PARITY_EVEN, PARITY_ODD };

struct bus {
	char *name;
	char *port;             /* a path, or "usb:VID:PID[:SERIAL]" */
	enum speaks speaks;
	int baud;               /* bit/s: 1200..115200 */
	enum parity parity;
	int stop_bits;          /* 1 or 2 */
	double every;           /* s between two askings of one probe, or the interval expected */
	char *line;             /* lines: template of one line, else NULL */
	char *ask;              /* lines: what to send before each answer; NULL when pushed */
};

/* One register of a Modbus probe, read as signed 16 bit / divisor. */
struct register_at {
	bool present;
	int function;           /* 3 holding, 4 input */
	int address;            /* on the wire, from 0 */
	double divisor;
};

struct probe {
	char *name;
	size_t bus;             /* index into conf.buses */
	int address;            /* modbus: 1..247 */
	char *token;            /* lines: the name the board prints */
	struct register_at registers[QUANTITIES]; /* modbus only */
	bool gives[QUANTITIES]; /* which quantities this probe can deliver at all */
	struct correction correction[QUANTITIES];
	bool has_calibrated;    /* calibrated and calibration_due are valid */
	double calibrated;      /* begin of the day it was last tested in salts, s since the epoch */
	double calibration_due; /* begin of the same day a year later */
};

struct place_conf {
	bool watched;           /* a probe sits here */
	size_t probe;           /* index into conf.probes, when watched */
	struct rule rules[QUANTITIES];
};

/* The least difference between warm and cool side by day, °C. */
struct gradient {
	bool present;
	double least;           /* > 0 */
};

struct species {
	char *name;
	char *latin;            /* NULL if unsaid */
	char *advice[ADVICES];  /* NULL: the shipped text */
	struct gradient gradient;
	struct rule rules[PLACES][QUANTITIES];
	struct season *seasons; /* in the order of the file */
	size_t season_count;
};

/* The room is one of these too, named "room", last in the list. */
struct enclosure {
	char *name;
	char *label;            /* shown to people; equals name if unsaid */
	const struct species *species; /* NULL if unsaid */
	enum build build;
	bool has_build;
	bool is_room;
	bool out_of_service;    /* recorded, never alerted */
	double misting_due;     /* s before it is too dry in which that is told; 0: never */
	struct gradient gradient; /* its own, or its species' */
	struct place_conf places[PLACES]; /* rules: species overridden by the enclosure, key by key */
	struct season *seasons; /* its species' that have dates, then its own */
	size_t season_count;
};

enum body { BODY_JSON, BODY_TEXT, BODY_TEMPLATE };

/* In the order of the file.  One that follows a webhook with an `escalate` is
 * held back: it is only told what the one before it did not get answered. */
struct webhook {
	char *name;
	char *endpoint;         /* http or https URL: a secret, never printed */
	char *secret;           /* "whsec_..." for signing; NULL when unsigned */
	enum priority priority; /* told from this one up */
	double escalate;        /* s until the next webhook is told too; 0: never */
	enum body body;
	char *template;         /* BODY_TEMPLATE: text with {title} and the like, else NULL */
	char *content_type;     /* BODY_TEMPLATE: its media type, else NULL */
	char **headers;         /* "Name: value", may hold {title} and the like */
	size_t header_count;
};

/* A sign of life, posted to an address that complains when it stays away. */
struct heartbeat {
	char *endpoint;         /* NULL: none */
	char *secret;           /* NULL when unsigned */
	double every;           /* s */
};

/* Local wall-clock time of day and the time allowed for a change. */
struct day {
	int from, to;           /* s after local midnight, 0..86399 */
	double changeover;      /* s */
};

/* How long each row size is kept, and how long closed minutes are gathered
 * before they are written, in s. */
struct archive_rows {
	double minutes, ten_minutes, hours;
	double write_every;
};

enum units { CELSIUS, FAHRENHEIT };

struct conf {
	enum units units;
	char *state;            /* folder; NULL if unsaid */
	struct day day;
	bool has_quiet;
	struct day quiet;       /* hours in which only `now` is told; no changeover */
	double gather;          /* s in which alerts are gathered into one message */
	double test_every;      /* s without a test alert before one is asked for; 0: never */
	double misting_due;     /* of enclosures that say nothing of their own */
	struct heartbeat heartbeat;
	struct archive_rows archive;
	struct bus *buses;
	size_t bus_count;
	struct probe *probes;
	size_t probe_count;
	struct species *species;
	size_t species_count;
	struct enclosure *enclosures;
	size_t enclosure_count; /* the room included, when there is one */
	struct webhook *webhooks;
	size_t webhook_count;
};

#endif
