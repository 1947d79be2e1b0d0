/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Remarks on an enclosure beside its species: own values beyond its limits, and a band
 * of a surface where the air may be measured.
 */
#ifndef WARMSIDE_CONF_REMARK_SPECIES_H
#define WARMSIDE_CONF_REMARK_SPECIES_H

#include "conf/fault.h"
#include "conf/model.h"

/* Adds a sentence for each place and quantity whose limits the enclosure gives and that
 * reach beyond those of its species: there an animal may come to harm and nobody is
 * told.  Says so of a band too that only such limits allow.  Of its seasons likewise,
 * against its species' season of that name where there is one that says limits.  And one where a hot
 * spot is judged by the band of its species. */
void remark_species(const struct conf *conf, const struct enclosure *enclosure,
		    struct faults *remarks);

#endif
