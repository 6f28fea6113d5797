/* What the board of arrays gives a fuzzer. */

#ifndef WHOLE_H
#define WHOLE_H

#include <stdbool.h>
#include <stdint.h>

bool whole_start(uint8_t cause, uint32_t entropy);

#endif
