/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The physics of a room and of the enclosures in it: heat and water vapour,
 * stepped through time.  Pure; knows no clock, no names and no chance.
 *
 * Units: °C, g/m³ (vapour density; also water, per m³ of the enclosure's air),
 * W, W/K, J/K, 1/h for exchanges of air, s for steps.
 */
#ifndef WARMSIDE_ROOMSIM_MODEL_H
#define WARMSIDE_ROOMSIM_MODEL_H

#include <stdbool.h>

/* Saturation vapour pressure over water, hPa.  Source: WMO-No. 8 (Guide to
 * Instruments and Methods of Observation), Annex 4.B, eq. 4.B.1, pure phase:
 * e_w = 6.112 exp(17.62 t / (243.12 + t)), -45..60 °C. */
double saturation_pressure(double celsius);

/* Vapour density of saturated air, g/m³: 216.679 e / T, e in hPa, T in K
 * (the gas law with R_v = 461.5 J/(kg K)). */
double saturation_density(double celsius);

/* The same at a relative humidity in %, and the other way round (0..100 %). */
double vapour_density(double celsius, double humidity);
double relative_humidity(double celsius, double vapour);

/* How an enclosure is built and heated.  Nothing in it changes with time. */
struct shell {
	double air_changes;             /* 1/h, doors closed */
	double loss_warm, loss_cool;    /* W/K from each side to the room */
	double mixing;                  /* W/K from the warm to the cool side */
	double mass_warm, mass_cool;    /* J/K: air, walls, furnishing */
	double heater;                  /* W at full power, into the warm side */
	double set_day, set_night;      /* °C: the thermostat's, at the warm side */
	bool at_spot;                   /* ... or at the hot spot */
	bool lamp;                      /* the heater is a lamp: dark at night */
	bool switched;                  /* the thermostat switches; else it dims */
	double spot;                    /* K/W: hot spot above the warm side */
	double evaporation;             /* 1/h: exchange between substrate and air */
	double soaked;                  /* g/m³ of water that saturate the substrate */
	double moist;                   /* 0..1 of soaked: where misting stops */
	double hide;                    /* 1/h: exchange of a humid hide; 0 = none */
};

/* What is inside right now. */
struct inside {
	double warm, cool, spot;        /* °C */
	double vapour, hide;            /* g/m³, in the air and in the humid hide */
	double substrate, film;         /* g/m³ of water, in and on things */
	double heat;                    /* W now */
	bool on;                        /* a switched thermostat's last state */
};

/* What an enclosure is exposed to during a step. */
struct around {
	double temperature, vapour;     /* the room's air */
	bool day;                       /* by the lamps' timer */
	bool powered;                   /* false in a power cut */
	bool stuck;                     /* the thermostat is stuck on */
	bool dead;                      /* the heater gives nothing */
	double drift;                   /* K the thermostat has drifted up */
	bool stirred;                   /* warm and cool side are one */
	bool open;                      /* the door stands open */
};

/* A plausible beginning: the thermostat's temperatures, substrate moist. */
struct inside inside_begin(const struct shell *shell, const struct around *around);

/* One step of `seconds` (at most 60): second order in the vapour, first in
 * the temperatures.  Water is neither made nor lost but by exchange of air. */
void inside_step(const struct shell *shell, struct inside *inside, const struct around *around,
		 double seconds);

/* Water sprayed in: `film` g/m³ stay on leaves and walls and evaporate within
 * the hour; `soak` g/m³ go into the substrate, as far as it takes them up to
 * moist. */
void inside_mist(const struct shell *shell, struct inside *inside, double film, double soak);

/* The air of the humid hide has a temperature of its own. */
double hide_temperature(const struct inside *inside);

/* The room: warmed by the furnace and by the enclosures, aired by leaks,
 * which a running furnace makes worse: that is what dries a house in winter,
 * against which a machine moistens it.  In summer one cools and dries it. */
struct room {
	double temperature, vapour;
	bool furnace;
};

struct room_around {
	double outdoor_temperature, outdoor_vapour;
	double heat;                    /* W from the enclosures */
	bool day, powered;
	bool dry;                       /* cold dry air is drawn in, and nothing moistens it */
};

struct room room_begin(const struct room_around *around);
void room_step(struct room *room, const struct room_around *around, double seconds);

#endif
