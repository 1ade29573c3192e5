/* SPDX-License-Identifier: MIT
 *
 * What a client of the control socket may ask, and the answers' common part. See docs/wire.md.
 * Both sides are here: the client writes a request, the daemon reads it.
 */
#ifndef WIRE_REQUEST_H
#define WIRE_REQUEST_H

#include "base/message.h"
#include "result/detail.h"
#include "result/issued.h"
#include "result/set_terms.h"
#include "result/verification.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
	REQUEST_LINE_MAX = 64 * 1024, /* bytes, LF included */
	REQUEST_NOTE_SIZE = 256,
	REQUEST_INTERVAL_MS_DEFAULT = 50, /* twenty lines a second: what an eye can follow */
	REQUEST_INTERVAL_MS_MAX = 60 * 1000,
	REQUEST_CRACK_MM_MAX = 10000, /* longer than any beam */
	FRACTURE_TYPE_MIN = 1,        /* ASTM C39's six types of fracture */
	FRACTURE_TYPE_MAX = 6,
};

enum request_ask {
	REQUEST_STATUS,
	REQUEST_WATCH,
	REQUEST_REGISTER,
	REQUEST_SEAT,
	REQUEST_FRACTURE,
	REQUEST_VERIFICATION,
	REQUEST_UPKEEP,
	REQUEST_ZERO,
	REQUEST_CORRECT_SPECIMEN,
	REQUEST_CORRECT_RUN,
	REQUEST_CONFIRM_METHOD,
	REQUEST_SET_TERMS,
	REQUEST_REPORT,
};

/* What of a run is put right. */
enum request_correction {
	REQUEST_NO_CORRECTION,
	REQUEST_OTHER_SPECIMEN,
	REQUEST_VOID,
	REQUEST_VALID,
};

struct request {
	enum request_ask ask;
	json_t *id;                     /* owned, NULL: none; returned as it came */
	char press[SPECIMEN_NAME_SIZE]; /* watch ("": all), seat, verification, upkeep, zero */
	int64_t interval_ms;            /* watch */
	struct specimen specimen;       /* register, correct_specimen */
	struct detail detail;           /* the same */
	char specimen_id[SPECIMEN_NAME_SIZE]; /* seat, correct_run */
	int64_t run;                          /* fracture, correct_run */
	int type;                             /* fracture */
	int64_t crack_um;                     /* fracture; 0: not measured */
	char note[REQUEST_NOTE_SIZE];         /* fracture, upkeep, zero, confirm_method; "" none.
						 Corrections: why */
	struct verification verification;     /* verification */
	enum upkeep upkeep;                   /* upkeep */
	struct utc_time happened;             /* upkeep; ns 0: now */
	enum request_correction correction;   /* correct_run */
	/* confirm_method: its name, its whole text as the person compared it, the standard's
	 * edition */
	char method[SPECIMEN_METHOD_SIZE];
	char method_text[METHOD_TEXT_SIZE];
	char edition[SPECIMEN_NAME_SIZE];
	struct set_terms terms; /* set_terms */
	struct issued issued;   /* report */
};

/* Reads one line (without its LF). False: why says what is wrong; request->id is still what the
 * line gave, so that the answer finds its question. request_finish in both cases. */
bool request_read(const char *line, size_t length, struct request *request, struct message *why);
void request_finish(struct request *request);

/* The line to send, LF included; to be freed with free(). NULL when memory is short. */
char *request_line(const struct request *request);

/* Answers; a new reference. The id is copied by reference and may be NULL. */
json_t *request_answer(json_t *id);
json_t *request_refusal(json_t *id, const char *error);

/* Reads an answer. False: why is the daemon's error, or what is wrong with the line. */
bool request_answer_read(const json_t *answer, struct message *why);

#endif
