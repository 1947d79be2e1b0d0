/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Heat and vapour in a room and its enclosures; see model.h.  Coefficients
 * are round guesses that give believable curves, not measurements.
 */
#include "contrib/roomsim/model.h"

#include <math.h>

static const double KELVIN = 273.15;
static const double VAPOUR_CONSTANT = 216.679;  /* g K/J, with e in hPa */

/* Thermostats */
static const double SWING = 0.3;                /* K either side, when switched */
static const double DIMMING = 2.0;              /* K from dark to full, when dimmed */
static const double SPOT_SETTLES = 240;         /* s: a stone under a lamp */
static const double SPOT_DIMMING = 6.0;         /* K from dark to full, felt at the stone */

static const double STIRRED = 12;               /* times the mixing, gradient lost */

/* A door that stands open */
static const double OPEN_AIR_CHANGES = 25;      /* 1/h */
static const double OPEN_LOSS = 2.5;            /* times the closed loss */

static const double FILM_DRIES = 12;            /* 1/h into quite dry air */
static const double HIDE_EVAPORATION = 3;       /* 1/h from the moss */
static const double HIDE_MOIST = 0.95;          /* the moss is kept wet */

/* The room */
static const double ROOM_LOSS = 60;             /* W/K */
static const double ROOM_MASS = 2400e3;         /* J/K: air, walls, furniture */
static const double FURNACE = 1900;             /* W */
static const double ROOM_DAY = 20.5, ROOM_NIGHT = 18.8, ROOM_SWING = 0.4;
static const double LEAKS = 0.35, LEAKS_FURNACE = 0.8; /* 1/h */
static const double ROOM_SOURCE = 1.1;          /* g/m³ each hour: people, plants */
static const double COOLED_ABOVE = 21.5, COOLING = 600;   /* °C; W/K above it */
static const double DRIED_ABOVE = 42, DRYING = 6;         /* %; 1/h of what is above it */
static const double MOISTENED_BELOW = 35, MOISTENING = 3; /* %; 1/h of what is lacking */
static const double DRY_LEAKS = 2.5, DRY_AIR = 1.5;       /* 1/h; g/m³: air of -10 °C, dried */

double saturation_pressure(double celsius)
{
	return 6.112 * exp(17.62 * celsius / (243.12 + celsius));
}

double saturation_density(double celsius)
{
	return VAPOUR_CONSTANT * saturation_pressure(celsius) / (celsius + KELVIN);
}

double vapour_density(double celsius, double humidity)
{
	return saturation_density(celsius) * humidity / 100;
}

double relative_humidity(double celsius, double vapour)
{
	return fmin(fmax(100 * vapour / saturation_density(celsius), 0), 100);
}

double hide_temperature(const struct inside *inside)
{
	return inside->cool + 0.3 * (inside->warm - inside->cool);
}

struct inside inside_begin(const struct shell *shell, const struct around *around)
{
	double set = around->day ? shell->set_day : shell->set_night;
	struct inside inside = { .warm = shell->lamp && !around->day ? around->temperature : set };

	inside.cool = (inside.warm + around->temperature) / 2;
	inside.spot = inside.warm;
	inside.substrate = shell->moist * shell->soaked;
	inside.vapour = (around->vapour + shell->moist * saturation_density(inside.cool)) / 2;
	inside.hide = HIDE_MOIST * saturation_density(hide_temperature(&inside));
	return inside;
}

/* What the thermostat gives, W. */
static double heat_now(const struct shell *shell, struct inside *inside,
		       const struct around *around)
{
	double set = (around->day ? shell->set_day : shell->set_night) + around->drift;

	if (!around->powered || around->dead)
		return 0;
	if (around->stuck)
		return shell->heater;
	if (shell->lamp && !around->day)
		return 0;
	if (shell->at_spot)
		return shell->heater *
		       fmin(fmax((set - inside->spot) / SPOT_DIMMING + 0.5, 0), 1);
	if (!shell->switched)
		return shell->heater * fmin(fmax((set - inside->warm) / DIMMING + 0.5, 0), 1);
	if (inside->warm < set - SWING)
		inside->on = true;
	else if (inside->warm > set + SWING)
		inside->on = false;
	return inside->on ? shell->heater : 0;
}

static void step_heat(const struct shell *shell, struct inside *inside,
		      const struct around *around, double seconds)
{
	double leaky = around->open ? OPEN_LOSS : 1;
	double mixing = around->stirred ? STIRRED * shell->mixing : shell->mixing;
	double across = mixing * (inside->warm - inside->cool);
	double from_warm = leaky * shell->loss_warm * (inside->warm - around->temperature);
	double from_cool = leaky * shell->loss_cool * (inside->cool - around->temperature);

	inside->heat = heat_now(shell, inside, around);
	inside->warm += seconds * (inside->heat - from_warm - across) / shell->mass_warm;
	inside->cool += seconds * (across - from_cool) / shell->mass_cool;
	inside->spot += seconds / SPOT_SETTLES *
			(inside->warm + shell->spot * inside->heat - inside->spot);
}

/* dw/dt = -n (w - w_room) + e (a w_sat - w) + film: linear in w, so a
 * trapezoid needs no iteration. */
static void step_vapour(const struct shell *shell, struct inside *inside,
			const struct around *around, double seconds)
{
	double hours = seconds / 3600, saturated = saturation_density(inside->cool);
	double airing = around->open ? OPEN_AIR_CHANGES : shell->air_changes;
	double activity = shell->soaked > 0 ? fmin(inside->substrate / shell->soaked, 1) : 0;
	double exchange = shell->soaked > 0 ? shell->evaporation : 0;
	double dried = inside->film * FILM_DRIES * hours * fmax(1 - inside->vapour / saturated, 0);
	double rate = airing + exchange;
	double towards = airing * around->vapour + exchange * activity * saturated;
	double before = inside->vapour;

	inside->vapour += (hours * (towards - rate * before) + dried) / (1 + rate * hours / 2);
	inside->substrate -= hours * exchange *
			     (activity * saturated - (before + inside->vapour) / 2);
	inside->film -= dried;
	if (inside->vapour > saturated) { /* dew */
		inside->film += inside->vapour - saturated;
		inside->vapour = saturated;
	}
}

static void step_hide(const struct shell *shell, struct inside *inside, double seconds)
{
	double hours = seconds / 3600;
	double wet = HIDE_MOIST * saturation_density(hide_temperature(inside));

	inside->hide += hours * (shell->hide * (inside->vapour - inside->hide) +
				 HIDE_EVAPORATION * (wet - inside->hide));
}

void inside_step(const struct shell *shell, struct inside *inside, const struct around *around,
		 double seconds)
{
	step_heat(shell, inside, around, seconds);
	step_vapour(shell, inside, around, seconds);
	if (shell->hide > 0)
		step_hide(shell, inside, seconds);
}

void inside_mist(const struct shell *shell, struct inside *inside, double film, double soak)
{
	double room_left = shell->moist * shell->soaked - inside->substrate;

	inside->film += film;
	inside->substrate += fmin(soak, fmax(room_left, 0));
}

struct room room_begin(const struct room_around *around)
{
	struct room room = { .temperature = fmax(ROOM_NIGHT, around->outdoor_temperature) };

	room.vapour = around->outdoor_vapour + ROOM_SOURCE / (LEAKS + LEAKS_FURNACE) * 2;
	return room;
}

/* The machines: what is too warm is cooled, too damp dried, too dry moistened. */
static double cooling(const struct room *room)
{
	return COOLING * fmax(room->temperature - COOLED_ABOVE, 0);
}

static double drying(const struct room *room)
{
	return DRYING * fmax(room->vapour - vapour_density(room->temperature, DRIED_ABOVE), 0);
}

static double moistening(const struct room *room)
{
	return MOISTENING *
	       fmax(vapour_density(room->temperature, MOISTENED_BELOW) - room->vapour, 0);
}

void room_step(struct room *room, const struct room_around *around, double seconds)
{
	double hours = seconds / 3600, set = around->day ? ROOM_DAY : ROOM_NIGHT;
	double loss = ROOM_LOSS * (room->temperature - around->outdoor_temperature);
	double outside = around->outdoor_vapour, leaks, rate;

	if (room->temperature < set - ROOM_SWING)
		room->furnace = true;
	else if (room->temperature > set + ROOM_SWING)
		room->furnace = false;
	if (!around->powered)
		room->furnace = false;
	leaks = room->furnace ? LEAKS_FURNACE : LEAKS;
	if (around->dry) {
		leaks = DRY_LEAKS;
		outside = fmin(outside, DRY_AIR);
	}
	rate = leaks * (outside - room->vapour) + (around->dry ? 0 : ROOM_SOURCE);
	if (around->powered) {
		rate += around->dry ? 0 : moistening(room) - drying(room);
		loss += cooling(room);
	}
	room->vapour += hours * rate / (1 + leaks * hours / 2);
	room->temperature += seconds * (around->heat + (room->furnace ? FURNACE : 0) - loss) /
			     ROOM_MASS;
}
