/* SPDX-License-Identifier: MIT
 *
 * The seal as it stands on a report, in its QR code: "ramplog run 12 seal HEX key HEX". Read back,
 * and held against the database.
 */
#ifndef TOOLS_AUDIT_SEAL_H
#define TOOLS_AUDIT_SEAL_H

#include "store/store.h"

struct audit_seal {
	int64_t run;
	unsigned char hash[STORE_SEAL_SIZE];
	bool is_signed;
	unsigned char public_key[STORE_PUBLIC_KEY_SIZE];
};

/* Writes it, size bytes are enough for 200 letters. */
void audit_seal_text(int64_t run, const struct run_seal *seal, char *text, size_t size);
/* Words between any white space; upper case is fine. */
bool audit_seal_parse(const char *text, struct audit_seal *seal);

/* Says whether the database has that run with that seal and key; the exit code. */
int audit_seal_check(const char *command, struct store *store, const struct audit_seal *seal);

#endif
