/* SPDX-License-Identifier: MIT
 *
 * What the fracture that a person saw means for the strength: nothing, mostly; that there is none;
 * or, for a beam that cracked a little outside its middle third, another formula.
 */
#ifndef RESULT_FRACTURE_H
#define RESULT_FRACTURE_H

#include "result/method.h"

/* Whether the type is one of the method's, and, for a beam, agrees with where the crack began:
 * crack_um from the nearer support along the tension face, 0 where it was not measured. */
bool fracture_check(const struct method *method, const struct specimen *specimen, int type,
	int64_t crack_um, struct message *why);

/* The strength that stands, from the one of the method's formula; 0: there is none. A beam of span
 * l that cracked at the distance a: 3 P a / (b d^2), which is 3 a / l of P l / (b d^2) (ASTM C78,
 * from memory). type 0: not entered yet, nothing changes. */
double fracture_strength_pa(const struct method *method, const struct specimen *specimen, int type,
	int64_t crack_um, double strength_pa);

#endif
