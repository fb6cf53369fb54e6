#include "anfract/tooth/section_direction.h"

#include <cmath>
#include <numbers>

namespace anfract {

Vec3 section_zero_P(const Vec3& tangent_P) {
    const double limit = std::cos(10 * std::numbers::pi / 180);
    const Vec3 axis = std::abs(tangent_P.x()) > limit ? Vec3::UnitY() : Vec3::UnitX();
    return (axis - tangent_P * tangent_P.dot(axis)).normalized();
}

}  // namespace anfract
