/* What the board of arrays gives a fuzzer. */

#ifndef WHOLE_H
#define WHOLE_H

#include <stdbool.h>
#include <stdint.h>

bool whole_start(uint8_t cause, uint32_t entropy);
bool whole_run(uint32_t ms, bool until_said, uint32_t *ran);
uint32_t whole_hear(uint8_t *bytes, uint32_t most);
void whole_wear(uint32_t from);

#endif
