/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The reptile room of the school at Wendlemarsh, an invented town; see
 * furnish.h.  What the thermostats are set to and how much is misted is fitted
 * to the bands, as a keeper would.
 */
#include "contrib/roomsim/furnish.h"

enum { CORN, KING, BALL, SKINK, BOA, DRAGON, LEOPARD, CRESTED, CHAMELEON, CLUTCH };

#define AT(place) (1u << (place))
#define TWO_SIDES (AT(WARM_SIDE) | AT(COOL_SIDE))

/* A tub in a heated rack: tight, a mat below the warm end. */
#define TUB_SHELL                                                                             \
	.loss_warm = 1.0, .loss_cool = 1.0, .mixing = 0.7, .mass_warm = 4500,                 \
	.mass_cool = 4500, .heater = 30, .switched = true, .evaporation = 0.4, .soaked = 350

const struct design designs[DESIGNS] = {
	{ "T1", "First tub", TUB, CORN, TWO_SIDES, AT(WARM_SIDE),
	  { { 8.4, 6, 90 } },
	  { TUB_SHELL, .air_changes = 0.3, .set_day = 29.8, .set_night = 27, .moist = 0.64 } },
	{ "T2", "Second tub", TUB, CORN, TWO_SIDES, AT(WARM_SIDE),
	  { { 8.5, 5, 90 } },
	  { TUB_SHELL, .air_changes = 0.25, .set_day = 30, .set_night = 27, .moist = 0.63 } },
	{ "T3", "Third tub", TUB, CORN, TWO_SIDES, AT(WARM_SIDE),
	  { { 8.6, 6, 110 } },
	  { TUB_SHELL, .air_changes = 0.45, .set_day = 29.6, .set_night = 27, .moist = 0.70 } },
	{ "T4", "Fourth tub", TUB, KING, TWO_SIDES, AT(WARM_SIDE),
	  { { 8.7, 4, 80 } },
	  { TUB_SHELL, .air_changes = 0.3, .set_day = 29.8, .set_night = 27.4, .moist = 0.63 } },
	{ "P1", "Long cabinet", PVC, BALL, TWO_SIDES, 0,
	  { { 8.9, 6, 120 } },
	  { .air_changes = 0.35, .loss_warm = 2.2, .loss_cool = 1.8, .mixing = 1.5,
	    .mass_warm = 14000, .mass_cool = 14000, .heater = 80, .set_day = 29.7,
	    .set_night = 29, .evaporation = 0.65, .soaked = 900, .moist = 0.85 } },
	{ "P2", "Low cabinet", PVC, SKINK, AT(HOT_SPOT) | AT(COOL_SIDE), 0,
	  { { 9.0, 4, 100 } },
	  { .air_changes = 0.7, .loss_warm = 2.4, .loss_cool = 2.0, .mixing = 2.0,
	    .mass_warm = 13000, .mass_cool = 13000, .heater = 60, .set_day = 34,
	    .set_night = 24, .at_spot = true, .lamp = true, .spot = 0.18, .evaporation = 0.5,
	    .soaked = 700, .moist = 0.55 } },
	{ "M1", "Old cupboard", MELAMINE, BOA, TWO_SIDES, 0,
	  { { 9.1, 6, 130 } },
	  { .air_changes = 0.4, .loss_warm = 2.6, .loss_cool = 2.2, .mixing = 2.6,
	    .mass_warm = 22000, .mass_cool = 22000, .heater = 72, .set_day = 31,
	    .set_night = 29, .evaporation = 0.7, .soaked = 900, .moist = 0.90 } },
	{ "M2", "Corner cupboard", MELAMINE, DRAGON, AT(HOT_SPOT) | AT(COOL_SIDE), 0,
	  { { 0, 0, 0 } },
	  { .air_changes = 2.5, .loss_warm = 3.0, .loss_cool = 2.5, .mixing = 3.2,
	    .mass_warm = 18000, .mass_cool = 18000, .heater = 100, .set_day = 38,
	    .set_night = 25.5, .at_spot = true, .spot = 0.2, .evaporation = 0.1, .soaked = 800,
	    .moist = 0.1 } },
	{ "G1", "Glass by the door", GLASS, LEOPARD,
	  AT(WARM_SIDE) | AT(COOL_SIDE) | AT(HUMID_HIDE), AT(HUMID_HIDE),
	  { { 9.2, 3, 80 } },
	  { .air_changes = 2.0, .loss_warm = 2.4, .loss_cool = 2.0, .mixing = 2.0,
	    .mass_warm = 10000, .mass_cool = 10000, .heater = 70, .switched = true,
	    .set_day = 28, .set_night = 26, .evaporation = 0.3, .soaked = 500, .moist = 0.4,
	    .hide = 0.9 } },
	{ "G2", "Tall glass", GLASS, CRESTED, TWO_SIDES, 0,
	  { { 8.2, 4, 100 }, { 20.6, 14, 160 } },
	  { .air_changes = 1.6, .loss_warm = 2.6, .loss_cool = 3.4, .mixing = 0.8,
	    .mass_warm = 12000, .mass_cool = 14000, .heater = 40, .set_day = 25.4,
	    .set_night = 20, .lamp = true, .evaporation = 1.6, .soaked = 1500, .moist = 0.78 } },
	{ "S1", "Screen cage", SCREEN, CHAMELEON, AT(HOT_SPOT) | AT(COOL_SIDE), 0,
	  { { 7.5, 14, 250 }, { 12.0, 12, 200 }, { 16.5, 12, 200 }, { 21.0, 14, 300 } },
	  { .air_changes = 9, .loss_warm = 7, .loss_cool = 6, .mixing = 6, .mass_warm = 7000,
	    .mass_cool = 9000, .heater = 110, .set_day = 27, .set_night = 20, .lamp = true,
	    .spot = 0.06, .evaporation = 4.2, .soaked = 4000, .moist = 0.92 } },
	{ "I1", "Incubator", INCUBATOR, CLUTCH, AT(EGGS), AT(EGGS),
	  { { 9.5, 0, 60 } },
	  { .air_changes = 0.06, .loss_warm = 0.8, .loss_cool = 0.2, .mixing = 8.0,
	    .mass_warm = 9000, .mass_cool = 9000, .heater = 25, .switched = true,
	    .set_day = 31.8, .set_night = 31.8, .evaporation = 1.5, .soaked = 12000,
	    .moist = 0.98 } },
};

/* Those that conf/species.conf knows have its bands and their usual patience. */
const struct kind species_list[SPECIES] = {
	[CORN] = { "corn snake", "Pantherophis guttatus",
		   { { WARM_SIDE, TEMPERATURE, "28..32 C", "18..32 C", "10..36 C", "1h" },
		     { COOL_SIDE, TEMPERATURE, "22..26 C", "18..26 C", "10..32 C", "1h" },
		     { COOL_SIDE, HUMIDITY, "40..60 %", "40..70 %", "25..90 %", "12h",
		       "8h", NULL } } },
	[KING] = { "king snake", "Lampropeltis spp.",
		   { { WARM_SIDE, TEMPERATURE, "28..32 C", "18..32 C", "10..36 C", "1h" },
		     { COOL_SIDE, TEMPERATURE, "22..26 C", "18..26 C", "10..32 C", "1h" },
		     { COOL_SIDE, HUMIDITY, "40..60 %", "40..60 %", "20..85 %", "12h" } } },
	[BALL] = { "ball python", "Python regius",
		   { { WARM_SIDE, TEMPERATURE, "28..32 C", "23..32 C", "15..36 C", "1h" },
		     { COOL_SIDE, TEMPERATURE, "22..26 C", "22..26 C", "15..32 C", "1h" },
		     { COOL_SIDE, HUMIDITY, "50..75 %", "50..80 %", "30..95 %", "12h",
		       "8h", NULL } } },
	[SKINK] = { "blue-tongue skink", "Tiliqua scincoides",
		    { { HOT_SPOT, TEMPERATURE, "33..35 C", "18..26 C", "12..38 C", "1h" },
		      { COOL_SIDE, TEMPERATURE, "22..26 C", "18..26 C", "12..34 C", "1h" },
		      { COOL_SIDE, HUMIDITY, "35..50 %", "35..50 %", "20..80 %", "12h" } } },
	[BOA] = { "boa", "Boa constrictor",
		  { { WARM_SIDE, TEMPERATURE, "29..33 C", "26..33 C", "18..36 C", "1h" },
		    { COOL_SIDE, TEMPERATURE, "23..28 C", "22..28 C", "18..34 C", "1h" },
		    { COOL_SIDE, HUMIDITY, "55..75 %", "55..80 %", "35..95 %", "12h" } } },
	[DRAGON] = { "bearded dragon", "Pogona vitticeps",
		     { { HOT_SPOT, TEMPERATURE, "36..40 C", "18..28 C", "12..42 C", "1h" },
		       { COOL_SIDE, TEMPERATURE, "22..28 C", "18..28 C", "12..36 C", "1h" },
		       { COOL_SIDE, HUMIDITY, "10..40 %", "10..40 %", "5..70 %", "12h" } } },
	[LEOPARD] = { "leopard gecko", "Eublepharis macularius",
		      { { WARM_SIDE, TEMPERATURE, "25..30 C", "20..30 C", "12..38 C", "1h" },
			{ COOL_SIDE, TEMPERATURE, "22..26 C", "20..26 C", "12..34 C", "1h" },
			{ COOL_SIDE, HUMIDITY, "30..40 %", "30..80 %", "15..90 %", "12h",
			  "8h", NULL },
			{ HUMID_HIDE, HUMIDITY, "70..90 %", "70..90 %", NULL, "12h" } } },
	[CRESTED] = { "crested gecko", "Correlophus ciliatus",
		      { { WARM_SIDE, TEMPERATURE, "22..26 C", "18..26 C", "12..28 C", "1h" },
			{ COOL_SIDE, TEMPERATURE, "20..23 C", "18..23 C", "12..28 C", "1h" },
			{ COOL_SIDE, HUMIDITY, "50..70 %", "50..97 %", "35..97 %", "12h",
			  "8h", "12h" } } },
	[CHAMELEON] = { "chameleon", "Chamaeleo calyptratus",
			{ { HOT_SPOT, TEMPERATURE, "28..34 C", "16..34 C", "10..40 C", "1h" },
			  { COOL_SIDE, TEMPERATURE, "20..27 C", "16..26 C", "10..33 C", "1h" },
			  { COOL_SIDE, HUMIDITY, "40..80 %", "44..95 %", "20..100 %", "8h" } } },
	[CLUTCH] = { "ball python clutch", "Python regius",
		     { { EGGS, TEMPERATURE, "30.5..32.5 C", "30.5..32.5 C", "28..34 C", "30min" },
		       { EGGS, HUMIDITY, "85..100 %", "85..100 %", "70..100 %", "6h" } } },
};

bool probe_has_humidity(enum place place)
{
	return place != HOT_SPOT;
}
