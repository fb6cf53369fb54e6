#include "anfract/geometry/point_text.h"

#include <charconv>
#include <cmath>

namespace anfract {

Result<Vec3> parse_point(const std::string& text, const std::string& where) {
    Vec3 point(0, 0, 0);
    const char* at = text.data();
    const char* const end = at + text.size();
    for (int axis = 0; axis < 3; ++axis) {
        const auto [after, error] = std::from_chars(at, end, point[axis]);
        const bool separated = axis == 2 ? after == end : after != end && *after == ',';
        if (error != std::errc{} || !separated || !std::isfinite(point[axis])) {
            return fail(ErrorCode::BadInput, "'" + text + "' is not a point", where,
                        "give three numbers in millimetres such as 1.5,-20,33");
        }
        at = axis == 2 ? after : after + 1;
    }
    return point;
}

}  // namespace anfract
