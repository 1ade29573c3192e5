/* SPDX-License-Identifier: MIT
 *
 * Modbus RTU, the part of it that reads: the request for one value (function 03 or 04) and its
 * reply. By "MODBUS over serial line specification and implementation guide V1.02" and "MODBUS
 * application protocol specification V1.1b3" of the Modbus Organization.
 *
 *	request  address function first-hi first-lo count-hi count-lo crc-lo crc-hi
 *	reply    address function bytes data ...                     crc-lo crc-hi
 *	         address function+80 exception                       crc-lo crc-hi
 *
 * Nothing that writes is in this vocabulary. The silence of 3.5 characters that separates frames
 * cannot be seen through a USB adapter: a reply is told by its length and its CRC, and whoever asks
 * keeps the silence.
 */
#ifndef MEASURE_MODBUS_H
#define MEASURE_MODBUS_H

#include "measure/decoder.h"

enum {
	MODBUS_REQUEST_SIZE = 8,
	MODBUS_EXCEPTION_SIZE = 5,
	MODBUS_REPLY_MAX = 9, /* two registers */
	MODBUS_ADDRESS_MAX = 247,
};

/* Polynomial A001 (8005 reflected), begins with FFFF. Its low byte is sent first. */
uint16_t modbus_crc(const unsigned char *bytes, size_t length);

size_t modbus_ask(const struct decoder_setup *setup, unsigned char *bytes);
size_t modbus_reply_size(const struct decoder_setup *setup);
/* A float is given by the shortest decimal number that reads back as it; infinity and what is no
 * number as READING_INVALID. */
int modbus_decode(const struct decoder_setup *setup, const unsigned char *bytes, size_t length,
	struct reading *reading, enum decoder_error *error);

/* The silence between two frames: 3.5 characters, above 19200 baud 1.75 ms. */
int64_t modbus_silence_ns(int64_t ns_per_byte, int baud);

#endif
