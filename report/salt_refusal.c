/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Why a jar gives no result; see salt_view.h.
 */
#include "report/salt_view.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

static const double ALIKE = 4; /* %: as near as that it may be another salt */

static char *far_sentence(const struct jar *jar, enum salt salt)
{
	enum salt other = salt_nearest(jar->read, jar->celsius);
	double has = salt_humidity(other, jar->celsius);
	char *which = fabs(has - jar->read) < ALIKE
			      ? must_print(" (%s has %.1f %%)", salt_word(other), has)
			      : must_copy("");
	char *text = must_print("the probe reads %.1f %% where %s has %.1f %%, and no probe worth "
				"correcting is that wrong; is it another salt%s, is it wet with salt "
				"left over, and is the jar tight?",
				jar->read, salt_title(salt), jar->actual, which);

	free(which);
	return text;
}

static char *moving_sentence(const struct jar *jar, enum salt salt)
{
	double actual = salt_humidity(salt, fmin(fmax(jar->celsius, salt_coldest), salt_warmest));
	/* Beyond what probes err by: then it is the air, and the way it goes is told. */
	bool leaves = fabs(jar->read - actual) > ALIKE &&
		      (jar->read - actual) * jar->drift > 0;

	if (leaves)
		return must_print("the humidity is at %.1f %% and moves away from the salt's %.1f %% by "
				  "%.2f %% an hour; close the jar tightly, with wet salt in it that is not "
				  "all dissolved, and begin again",
				  jar->read, actual, fabs(jar->drift));
	return must_print("the humidity has not settled: at %.1f %% it still moves by %.2f %% an hour; "
			  "leave the jar closed longer, 12 h or a day in all",
			  jar->read, fabs(jar->drift));
}

static char *of_warmth(const struct jar *jar, enum units units)
{
	char low[MEASURE_TEXT], high[MEASURE_TEXT], least[MEASURE_TEXT], most[MEASURE_TEXT];

	if (jar->verdict == JAR_OUTSIDE)
		return must_print("the jar was at %s, and what salts do is known here from %s to %s; "
				  "test it in a room between",
				  show_value(jar->celsius, TEMPERATURE, units, low),
				  show_value(salt_coldest, TEMPERATURE, units, least),
				  show_value(salt_warmest, TEMPERATURE, units, most));
	return must_print("the temperature was not steady, %s to %s, so that air and salt were not "
			  "equally warm; wrap the jar, put it where it is even day and night, and "
			  "test again",
			  show_value(jar->coldest, TEMPERATURE, units, low),
			  show_value(jar->warmest, TEMPERATURE, units, high));
}

char *salt_refusal(const struct jar *jar, enum salt salt, enum units units)
{
	switch (jar->verdict) {
	case JAR_SHORT:
		return must_copy("the jar was closed for less than 6 h, the least that can do; leave "
				 "it for 12 h or longer");
	case JAR_GAPS:
		return must_copy("too little of its last hours is known; say a --to before the "
				 "readings ended, or test again while warmsided runs");
	case JAR_OPENED:
		return must_copy("the humidity jumps in the last hours; say a --to from before the jar "
				 "was opened");
	case JAR_WET:
		return must_print("the probe stands at %.0f %%, the end of its range, so that nobody "
				  "knows what it would read; let it dry, and test in a less damp salt "
				  "such as nacl", jar->read);
	case JAR_LEAKING:
		return must_print("the air in the jar follows the room's, which moves it by about %.1f "
				  "%%; make lid and cable tight, with tape or grease, and test again",
				  jar->leak);
	case JAR_MOVING:
		return moving_sentence(jar, salt);
	case JAR_NOISY:
		return must_copy("its readings are too few, or scatter too much, to tell whether it has "
				 "settled; leave the jar closed for a day, and ask before its minutes "
				 "are gone from the archive");
	case JAR_FAR:
		return far_sentence(jar, salt);
	case JAR_OUTSIDE:
	case JAR_SWINGING:
	case JAR_SETTLED:
		break;
	}
	return of_warmth(jar, units);
}

char *salt_mistaken_refusal(const struct salt_reading *reading, enum salt other, bool corrected)
{
	enum salt second = salt_that_tells(reading);
	char *cure = second == SALTS ? must_copy("replace it")
				     : must_print("test it over %s too, since two salts tell",
						  salt_word(second));
	char *text = must_print("%s reads %.1f %% where %s has %.1f %%, which is nearer to %s (%s) with "
				"%.1f %%; if that was in the jar, say --salt %s, and if the %s is that "
				"wrong, %s",
				corrected ? "as it is corrected, it" : "it", reading->read,
				salt_title(reading->salt),
				salt_humidity(reading->salt, reading->celsius), salt_title(other),
				salt_word(other), salt_humidity(other, reading->celsius),
				salt_word(other),
				corrected ? "probe or its humidity_correction" : "probe", cure);

	free(cure);
	return text;
}
