#pragma once

#include <string>
#include <string_view>

#include "anfract/base/result.h"

namespace anfract {

/// A tooth by its quadrant and its place counted from the midline [ISO3950].
///
/// Quadrants 1 to 4 are permanent teeth with places 1 to 8, quadrants 5 to 8 primary teeth with
/// places 1 to 5; 1 and 5 are upper right, 2 and 6 upper left, 3 and 7 lower left, 4 and 8 lower
/// right.
struct ToothNumber {
    int quadrant = 0;
    int place = 0;

    bool primary() const { return quadrant > 4; }
    bool upper() const { return (quadrant - 1) % 4 < 2; }
    /// On the patient's left, which is +x in the patient frame.
    bool left() const { return (quadrant - 1) % 4 == 1 || (quadrant - 1) % 4 == 2; }
    bool molar() const { return primary() ? place >= 4 : place >= 6; }
    bool premolar() const { return !primary() && (place == 4 || place == 5); }
    bool anterior() const { return place <= 3; }

    std::string fdi() const;
    /// Universal numbers: 1 to 32 for permanent, A to T for primary teeth.
    std::string universal() const;

    bool operator==(const ToothNumber&) const = default;
};

/// Reads a two-digit number such as "36"; BadInput for anything [ISO3950] has no tooth for (19, 50,
/// 00).
Result<ToothNumber> tooth_number_from_fdi(std::string_view text);

/// Reads a Universal number, "1" to "32" or "A" to "T"; BadInput otherwise.
Result<ToothNumber> tooth_number_from_universal(std::string_view text);

}  // namespace anfract
