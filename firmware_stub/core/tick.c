#include "tick.h"

#include "image.h"

uint32_t tick_now;

BY_ITSELF bool tick_has_come(const uint32_t *tick)
{
    return tick_is_past(*tick);
}
