/* The small board: an ATmega328P at 16 MHz, as on the common boards with that chip.
 *
 *     out    pwm0 pwm1 pwm2 pwm3 pwm4 pwm5 out0 out1 out2 out3 out4 out5
 *     pin    D6   D5   D9   D10  D11  D3   D2   D4   D7   D8   D12  D13
 *     in     in0  in1  in2  in3  in4  in5
 *     pin    A0   A1   A2   A3   A4   A5
 *
 * D0 and D1 are the serial line. D13 has the board's own lamp, and a boot loader blinks it at every start, before this
 * program runs: hang no valve on out5 where there is a boot loader.
 */

#define PORTS(X) X(B) X(D)
#define TIMERS(X)                                                          \
    X(0, _BV(WGM01) | _BV(WGM00), _BV(CS01) | _BV(CS00)) /* 977 Hz */      \
    X(1, _BV(WGM11), _BV(WGM13) | _BV(WGM12) | _BV(CS10)) /* the tick */   \
    X(2, _BV(WGM21) | _BV(WGM20), _BV(CS22)) /* 977 Hz */
#define FADING(X)                                                                 \
    X(D, 6, 0, A, IN_255) X(D, 5, 0, B, IN_255) X(B, 1, 1, A, IN_TICK)              \
    X(B, 2, 1, B, IN_TICK) X(B, 3, 2, A, IN_255) X(D, 3, 2, B, IN_255)
#define PLAIN(X) X(D, 2) X(D, 4) X(D, 7) X(B, 0) X(B, 4) X(B, 5)
#define INPUTS(X) X(C, 0) X(C, 1) X(C, 2) X(C, 3) X(C, 4) X(C, 5)
#define UART_PORT AT_D
#define UART_PULL_UP _BV(PD0)

#include "avr_pins.h"
