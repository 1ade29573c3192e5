/* SPDX-License-Identifier: MIT
 *
 * Codes for scanners, as modules that are dark or not: QR (ISO/IEC 18004, by libqrencode) and
 * Code 128 (ISO/IEC 15417, by libzint). What they look like is left to others.
 */
#ifndef DRAW_CODE_H
#define DRAW_CODE_H

#include <stdbool.h>
#include <stddef.h>

enum {
	CODE_QUIET_QR = 4,   /* modules that must stay light around the code */
	CODE_QUIET_128 = 10, /* the same, at both its ends */
};

struct code {
	int width, rows;        /* in modules, without the quiet zone */
	unsigned char *modules; /* owned; row by row, 1: dark */
};

/* False where the text does not fit into such a code, or memory is short; nothing to finish then.
 * Code 128 takes ASCII: beyond it scanners do not agree. */
bool code_qr(struct code *code, const char *text);
bool code_128(struct code *code, const char *text);
void code_finish(struct code *code);

/* From the module `from` of a row: how many stand side by side that are as dark. */
int code_run(const struct code *code, int row, int from);

#endif
