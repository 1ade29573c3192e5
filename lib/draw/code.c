/* SPDX-License-Identifier: MIT */
#include "draw/code.h"

#include <qrencode.h>
#include <stdlib.h>
#include <string.h>
#include <zint.h>

static bool make(struct code *code, int width, int rows)
{
	*code = (struct code){.width = width, .rows = rows};
	code->modules = calloc((size_t)width * (size_t)rows, 1);
	return code->modules != NULL;
}

static bool is_ascii(const char *text)
{
	while (*text && !(*text & 0x80))
		text++;
	return !*text;
}

/* Says that it is UTF-8 where that makes a difference: scanners guess otherwise. */
static QRcode *encode_qr(const char *text)
{
	enum { ECI_UTF8 = 26 };
	if (is_ascii(text))
		return QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
	QRinput *input = QRinput_new2(0, QR_ECLEVEL_M);
	QRcode *qr = NULL;
	if (input && QRinput_appendECIheader(input, ECI_UTF8) == 0 &&
		QRinput_append(input, QR_MODE_8, (int)strlen(text), (const unsigned char *)text) ==
			0)
		qr = QRcode_encodeInput(input);
	QRinput_free(input);
	return qr;
}

bool code_qr(struct code *code, const char *text)
{
	QRcode *qr = encode_qr(text);
	bool good = qr && make(code, qr->width, qr->width);
	for (int i = 0; good && i < qr->width * qr->width; i++)
		code->modules[i] = qr->data[i] & 1;
	QRcode_free(qr);
	return good;
}

bool code_128(struct code *code, const char *text)
{
	struct zint_symbol *symbol = ZBarcode_Create();
	bool good = false;
	if (!symbol)
		return false;
	symbol->symbology = BARCODE_CODE128;
	/* A warning is a code that a scanner might read as something else. */
	if (is_ascii(text) &&
		ZBarcode_Encode(symbol, (const unsigned char *)text, (int)strlen(text)) == 0)
		good = make(code, symbol->width, 1);
	for (int i = 0; good && i < symbol->width; i++)
		code->modules[i] = symbol->encoded_data[0][i / 8] >> (i % 8) & 1;
	ZBarcode_Delete(symbol);
	return good;
}

void code_finish(struct code *code)
{
	free(code->modules);
	code->modules = NULL;
}

int code_run(const struct code *code, int row, int from)
{
	const unsigned char *modules = code->modules + (size_t)row * (size_t)code->width;
	int to = from + 1;
	while (to < code->width && modules[to] == modules[from])
		to++;
	return to - from;
}
