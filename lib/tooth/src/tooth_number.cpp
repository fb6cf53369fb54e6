#include "anfract/tooth/tooth_number.h"

#include <charconv>

namespace anfract {
namespace {

tl::unexpected<Error> no_such_tooth(std::string_view text, std::string remedy) {
    return fail(ErrorCode::BadInput, "'" + std::string(text) + "' is not a tooth number", "",
                std::move(remedy));
}

}  // namespace

std::string ToothNumber::fdi() const { return std::to_string(quadrant) + std::to_string(place); }

std::string ToothNumber::universal() const {
    // Both run clockwise as seen from the front: from upper right to upper left, back along the
    // lower jaw.
    if (primary()) {
        const int order[] = {5 - place, 4 + place, 15 - place, 14 + place};
        return std::string(1, static_cast<char>('A' + order[quadrant - 5]));
    }
    const int order[] = {9 - place, 8 + place, 25 - place, 24 + place};
    return std::to_string(order[quadrant - 1]);
}

Result<ToothNumber> tooth_number_from_fdi(std::string_view text) {
    const char* const remedy =
        "give two digits: quadrant 1 to 4 with 1 to 8, or for primary teeth 5 to 8 with 1 to 5";
    if (text.size() != 2) return no_such_tooth(text, remedy);
    const ToothNumber number{text[0] - '0', text[1] - '0'};
    const bool quadrant = number.quadrant >= 1 && number.quadrant <= 8;
    if (!quadrant || number.place < 1 || number.place > (number.primary() ? 5 : 8)) {
        return no_such_tooth(text, remedy);
    }
    return number;
}

Result<ToothNumber> tooth_number_from_universal(std::string_view text) {
    for (int quadrant = 1; quadrant <= 8; ++quadrant) {
        for (int place = 1; place <= (quadrant > 4 ? 5 : 8); ++place) {
            const ToothNumber number{quadrant, place};
            if (number.universal() == text) return number;
        }
    }
    return no_such_tooth(text, "give a Universal number, 1 to 32 or A to T");
}

}  // namespace anfract
