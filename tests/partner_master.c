/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Asks one Modbus RTU slave for input registers by libmodbus and prints
 * them, so that our own slaves are judged by somebody else's master.
 * Exit status: 0 read, 1 not (the reason on standard error), 2 usage.
 */
#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include <modbus.h>

enum { MOST = 125, TIMEOUT_US = 500000 };

static int ask(modbus_t *bus, int address, int first, int count)
{
	uint16_t values[MOST];

	if (modbus_set_slave(bus, address) != 0 || modbus_connect(bus) != 0 ||
	    modbus_set_response_timeout(bus, 0, TIMEOUT_US) != 0 ||
	    modbus_read_input_registers(bus, first, count, values) != count) {
		fprintf(stderr, "partner_master: %s\n", modbus_strerror(errno));
		return 1;
	}
	for (int i = 0; i < count; i++)
		printf("%d%c", (int16_t)values[i], i + 1 < count ? ' ' : '\n');
	return 0;
}

int main(int argc, char **argv)
{
	int address, first, count, status;
	modbus_t *bus;

	if (argc != 5) {
		fputs("usage: partner_master DEVICE ADDRESS FIRST COUNT\n", stderr);
		return 2;
	}
	address = (int)strtol(argv[2], NULL, 10);
	first = (int)strtol(argv[3], NULL, 10);
	count = (int)strtol(argv[4], NULL, 10);
	if (count < 1 || count > MOST)
		return 2;
	bus = modbus_new_rtu(argv[1], 9600, 'N', 8, 1);
	if (!bus)
		return 2;
	status = ask(bus, address, first, count);
	modbus_close(bus);
	modbus_free(bus);
	return status;
}
