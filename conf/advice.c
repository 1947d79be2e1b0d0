/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Advice; see advice.h.  Common practice, no source: what keepers look at
 * first.  The texts fit any reptile and none tells to do what could harm one.
 * Each ends with what it is, so that whoever reads the message knows.
 */
#include "conf/advice.h"

static const struct {
	const char *word, *text;
} advices[ADVICES] = {
	[ADVICE_COLD] = { "too_cold",
			  "Often a heater without power, a thermostat set or placed wrongly, or a "
			  "door or window left open. See first whether the heater has power and gets "
			  "warm, then how warm the room is. (common practice)" },
	[ADVICE_HOT] = { "too_hot",
			 "Often a thermostat's probe that has slipped, sun through a window, or a hot "
			 "room. See first whether the heater switches off, and unplug it if it does "
			 "not; the animal must be able to reach a cooler place. (common practice)" },
	[ADVICE_DRY] = { "too_dry",
			 "Often an empty water bowl, a dried-out humid hide, heated winter air, or too "
			 "much ventilation. See first to the water and the hide, then mist "
			 "lightly. (common practice)" },
	[ADVICE_DAMP] = { "too_damp",
			  "Often a spilt water bowl, soaked substrate, or vents that are covered. "
			  "Look first for standing water, free the vents and replace what is "
			  "soaked. (common practice)" },
	[ADVICE_GRADIENT] = { "no_gradient",
			      "Often a heater that has failed, or a room as warm as the warm side. "
			      "See first whether the heater gets warm and both probes lie where they "
			      "belong. (common practice)" },
	[ADVICE_SILENT] = { "silent",
			    "Often a loose cable, an unplugged adapter, or a board without power. "
			    "Nothing is measured there now: look at the animal and at another "
			    "thermometer, then at the cable. (common practice)" },
	[ADVICE_FROZEN] = { "frozen",
			    "Often a probe or board that hangs and repeats its last values. Do not "
			    "rely on it: compare with another thermometer, then take its power away "
			    "for a moment or replace it. (common practice)" },
};

const char *advice_word(enum advice advice)
{
	return advices[advice].word;
}

const char *advice_text(const struct species *species, enum advice advice)
{
	return species && species->advice[advice] ? species->advice[advice]
						  : advices[advice].text;
}
