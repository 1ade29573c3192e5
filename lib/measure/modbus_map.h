/* SPDX-License-Identifier: MIT
 *
 * Where a Modbus instrument keeps its value.
 */
#ifndef MEASURE_MODBUS_MAP_H
#define MEASURE_MODBUS_MAP_H

enum modbus_type {
	MODBUS_INT16,
	MODBUS_UINT16,
	MODBUS_INT32,
	MODBUS_UINT32,
	MODBUS_FLOAT32,
};

/* The bytes of a 32-bit value as they come, A being the most significant one. The standard fixes
 * them for 16 bits only (ABCD without words); every other order is in use. */
enum modbus_order {
	MODBUS_ABCD,
	MODBUS_CDAB,
	MODBUS_BADC,
	MODBUS_DCBA,
};

struct modbus_map {
	int address;  /* 1 .. 247 */
	int function; /* 3 holding registers, 4 input registers */
	int first;    /* as on the wire, counted from 0 */
	enum modbus_type type;
	enum modbus_order order; /* of 32-bit types; BADC and DCBA also swap the bytes of 16 */
};

#endif
