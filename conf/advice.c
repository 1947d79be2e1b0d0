/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice; see advice.h.  Common practice, no source: what keepers look at
 * first.  The texts fit any reptile and clutch, and none tells to do what
 * could harm one.  Each ends with what it is, so that whoever reads the
 * message knows.
 */
#include "conf/advice.h"

#include "conf/season.h"

#define COMMON " (common practice)"

static const char *const words[ADVICES] = {
	[ADVICE_COLD] = "too_cold", [ADVICE_HOT] = "too_hot",          [ADVICE_DRY] = "too_dry",
	[ADVICE_DAMP] = "too_damp", [ADVICE_GRADIENT] = "no_gradient", [ADVICE_SILENT] = "silent",
	[ADVICE_FROZEN] = "frozen",
};

static const char cold[] =
	"Often a heater without power, a thermostat set or placed wrongly, or a door or window "
	"left open. See first whether the heater has power and gets warm, then how warm the room "
	"is." COMMON;

static const char hot[] =
	"Often a thermostat's probe that has slipped, sun through a window, or a hot room. See "
	"first whether the heater switches off, and unplug it if it does not; the animal must be "
	"able to reach a cooler place." COMMON;

static const char dry[] =
	"Often an empty water bowl, a dried-out humid hide, heated winter air, or too much "
	"ventilation. See first to the water and the hide, then moisten part of the substrate, but "
	"never eggs." COMMON;

static const char damp[] =
	"Often a fresh misting, a spilt water bowl, soaked substrate, or vents that are covered. "
	"Look first for standing water and free the vents; eggs stay as they lie." COMMON;

static const char gradient[] =
	"Often a heater that has failed, or a room as warm as the warm side. See first whether the "
	"heater gets warm and both probes lie where they belong." COMMON;

static const char silent[] =
	"Often a loose cable, an unplugged adapter, or a board without power. Little is measured "
	"there now: look at the animal and at another thermometer, then at the cable." COMMON;

static const char frozen[] =
	"Often a probe or board that hangs and repeats its last values. Do not rely on it: compare "
	"with another thermometer, then unplug it for a moment or replace it." COMMON;

/* A lamp moved nearer to please a probe that measures the air burns the animal. */
static const char hot_spot_cold[] =
	"Often a lamp that is burnt out or switched off, or a probe that does not lie on the lit "
	"surface. See first whether the lamp burns, then point an infrared thermometer at the surface; "
	"bring no lamp nearer and take no stronger one on the word of the probe alone." COMMON;

/* Whoever rests is neither warmed nor wetted quickly: it would wake, spend what it
 * lives on, or fall ill. */
static const char rest_cold[] =
	"It rests: see first to the place or refrigerator it is in, its door, and frost from outside. "
	"Let it grow warmer slowly, by moving it and not by a lamp or a heat mat; ask a veterinarian "
	"when it was below its limits." COMMON;

static const char rest_hot[] =
	"It rests: see first whether a heater is on that should be off, whether sun gets there, and to "
	"the refrigerator and its door. Let it grow cooler slowly; where it stays too warm and awake, "
	"ask a veterinarian about ending the rest." COMMON;

static const char rest_dry[] =
	"It rests: see first to its bowl of water, and to a fan or draught that dries it. Moisten no "
	"more than one corner of the substrate, a little and with water as cold as the place, and "
	"never the animal: cold and wet together make it ill." COMMON;

static const char rest_damp[] =
	"It rests, and cold and wet together make it ill: see first for spilt or condensed water, and "
	"whether air gets in. Put dry substrate as cold as the place for what is wet, use no heat to "
	"dry it, and disturb it little." COMMON;

static const char *const rest[ADVICES] = {
	[ADVICE_COLD] = rest_cold, [ADVICE_HOT] = rest_hot,
	[ADVICE_DRY] = rest_dry,   [ADVICE_DAMP] = rest_damp,
};

static const char *const texts[ADVICES] = {
	[ADVICE_COLD] = cold,     [ADVICE_HOT] = hot,           [ADVICE_DRY] = dry,
	[ADVICE_DAMP] = damp,     [ADVICE_GRADIENT] = gradient, [ADVICE_SILENT] = silent,
	[ADVICE_FROZEN] = frozen,
};

const char *advice_word(enum advice advice)
{
	return words[advice];
}

/* NULL: no season in force has one. */
static const char *text_of_season(const struct enclosure *enclosure, int date, enum advice advice)
{
	for (size_t i = enclosure->season_count; i-- > 0;) {
		const struct season *season = &enclosure->seasons[i];

		if (season->advice[advice] && season_weight(&season->dates, date) > 0)
			return season->advice[advice];
	}
	return NULL;
}

const char *advice_text(const struct advised *advised, enum advice advice)
{
	static const struct advised nobody;
	const struct enclosure *enclosure;
	const char *own;

	if (!advised)
		advised = &nobody;
	enclosure = advised->enclosure;
	own = enclosure ? text_of_season(enclosure, advised->date, advice) : NULL;
	if (own)
		return own;
	if (enclosure && rest[advice] && enclosure_rests(enclosure, advised->date))
		return rest[advice];
	if (enclosure && enclosure->species && enclosure->species->advice[advice])
		return enclosure->species->advice[advice];
	return advised->hot_spot && advice == ADVICE_COLD ? hot_spot_cold : texts[advice];
}
