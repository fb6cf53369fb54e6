#include "size_colour.h"

#include <cmath>

namespace anfract {

Colour size_colour(double tip_mm) {
    const int size = int(std::lround(tip_mm * 100));
    if (size < 8) return Colour::hex(0xe79ab8);
    if (size < 10) return Colour::hex(0x9a9a9a);
    if (size < 15) return Colour::hex(0x7a4fa3);
    constexpr Colour round[6] = {Colour::hex(0xffffff), Colour::hex(0xf0c419),
                                 Colour::hex(0xc0392b), Colour::hex(0x2f6fb5),
                                 Colour::hex(0x3a8f4d), Colour::hex(0x222222)};
    // 015 to 060 in steps of 5, then 070 to 140 in steps of 10.
    const int place = size < 60 ? (size - 15) / 5 : 9 + (size - 60) / 10;
    return round[place % 6];
}

}  // namespace anfract
