/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice; see advice.h.  Common practice, no source: what keepers look at
 * first.  The texts fit any reptile and clutch, and none tells to do what
 * could harm one.  Each ends with what it is, so that whoever reads the
 * message knows.
 */
#include "conf/advice.h"

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

static const char *const texts[ADVICES] = {
	[ADVICE_COLD] = cold,     [ADVICE_HOT] = hot,           [ADVICE_DRY] = dry,
	[ADVICE_DAMP] = damp,     [ADVICE_GRADIENT] = gradient, [ADVICE_SILENT] = silent,
	[ADVICE_FROZEN] = frozen,
};

const char *advice_word(enum advice advice)
{
	return words[advice];
}

const char *advice_text(const struct species *species, enum advice advice)
{
	return species && species->advice[advice] ? species->advice[advice] : texts[advice];
}
