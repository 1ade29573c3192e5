/* SPDX-License-Identifier: MIT
 *
 * What a set of companions is to be judged by, as the specification names it: entered by a person,
 * never guessed.
 */
#ifndef RESULT_SET_TERMS_H
#define RESULT_SET_TERMS_H

#include "result/acceptance.h"

struct set_terms {
	char set[SPECIMEN_NAME_SIZE];
	char series[SPECIMEN_NAME_SIZE]; /* of tests of one concrete, by order of sampling; "" none
					  */
	enum acceptance_rule rule;
	double specified_pa; /* f'c or fck; 0: not stated */
	double sigma_pa;     /* the deviation in force, where the rule needs one; 0: not stated */
	bool field;          /* made under field conditions, not the laboratory's */
};

/* Names that are printable and short enough, and what the rule needs. */
bool set_terms_check(const struct set_terms *terms, struct message *why);

#endif
