/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The smallest event loop a bus can live in, and a bus of many alike probes:
 * for the storm and the benchmark.
 */
#ifndef WARMSIDE_TESTS_BUS_LOOP_H
#define WARMSIDE_TESTS_BUS_LOOP_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"
#include "daemon/bus.h"

/* CLOCK_MONOTONIC, s. */
double loop_now(void);

/* Steps the bus and waits for it until *done or until (CLOCK_MONOTONIC, s);
 * false when the time ran out. */
bool loop_run(struct bus_live *bus, const bool *done, double until);

/* Probes at addresses 1..count, temperature in input register 1 and humidity in
 * 2, tenths; on one Modbus bus at port, 8N1.  Free with loop_conf_free. */
struct conf loop_conf(const char *port, int baud, double every, size_t count);
void loop_conf_free(struct conf *conf);

#endif
