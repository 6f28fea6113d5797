/* The large board: an ATmega2560 at 16 MHz, as on the common boards with that chip.
 *
 *     out    pwm0 to pwm11   out0 to out27
 *     pin    D2 to D13       D22 to D49
 *     in     in0 to in13
 *     pin    A0 to A13
 *
 * D0 and D1 are the serial line. D13 has the board's own lamp, and a boot loader blinks it at every start, before this
 * program runs: hang no valve on pwm11 where there is a boot loader.
 */

#define PORTS(X) X(A) X(B) X(C) X(D) X(E) X(G) X(H) X(L)
#define TIMERS(X)                                                               \
    X(0, _BV(WGM01) | _BV(WGM00), _BV(CS01) | _BV(CS00)) /* 977 Hz */           \
    X(1, _BV(WGM11), _BV(WGM13) | _BV(WGM12) | _BV(CS10)) /* the tick */        \
    X(2, _BV(WGM21) | _BV(WGM20), _BV(CS22)) /* 977 Hz */                       \
    X(3, _BV(WGM30), _BV(WGM32) | _BV(CS31) | _BV(CS30)) /* 977 Hz, 8 bits */   \
    X(4, _BV(WGM40), _BV(WGM42) | _BV(CS41) | _BV(CS40)) /* 977 Hz, 8 bits */
#define FADING(X)                                                                        \
    X(E, 4, 3, B, IN_255) X(E, 5, 3, C, IN_255) X(G, 5, 0, B, IN_255) X(E, 3, 3, A, IN_255)   \
    X(H, 3, 4, A, IN_255) X(H, 4, 4, B, IN_255) X(H, 5, 4, C, IN_255) X(H, 6, 2, B, IN_255)   \
    X(B, 4, 2, A, IN_255) X(B, 5, 1, A, IN_TICK) X(B, 6, 1, B, IN_TICK) X(B, 7, 0, A, IN_255)
#define PLAIN(X)                                                                            \
    X(A, 0) X(A, 1) X(A, 2) X(A, 3) X(A, 4) X(A, 5) X(A, 6) X(A, 7)                         \
    X(C, 7) X(C, 6) X(C, 5) X(C, 4) X(C, 3) X(C, 2) X(C, 1) X(C, 0)                         \
    X(D, 7) X(G, 2) X(G, 1) X(G, 0)                                                         \
    X(L, 7) X(L, 6) X(L, 5) X(L, 4) X(L, 3) X(L, 2) X(L, 1) X(L, 0)
#define INPUTS(X)                                                   \
    X(F, 0) X(F, 1) X(F, 2) X(F, 3) X(F, 4) X(F, 5) X(F, 6) X(F, 7) \
    X(K, 0) X(K, 1) X(K, 2) X(K, 3) X(K, 4) X(K, 5)
#define UART_PORT AT_E
#define UART_PULL_UP _BV(PE0)

#include "avr_pins.h"
