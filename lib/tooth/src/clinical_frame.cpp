#include "anfract/tooth/clinical_frame.h"

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>

#include "anfract/geometry/moving_frame.h"
#include "anfract/tooth/tooth_number.h"

namespace anfract {
namespace {

/// How far the buccal direction has turned from straight ahead toward the side.
double arch_angle_deg(const ToothNumber& number) {
    if (number.place <= 2) return 0.0;
    if (number.place == 3) return 45.0;
    return 90.0;
}

}  // namespace

ClinicalFrame clinical_frame(const std::string& fdi, const Vec3& apical_axis) {
    ClinicalFrame frame;
    Vec3 buccal(1, 0, 0), mesial(0, -1, 0);
    if (const auto number = tooth_number_from_fdi(fdi)) {
        const double side = number->left() ? 1.0 : -1.0;
        const double turn = arch_angle_deg(*number) * std::numbers::pi / 180.0;
        buccal = {side * std::sin(turn), -std::cos(turn), 0};
        mesial = {-side * std::cos(turn), -std::sin(turn), 0};
        frame.known = true;
        frame.upper = number->upper();
    }
    frame.apical = apical_axis.normalized();
    const Vec3 flat = buccal - buccal.dot(frame.apical) * frame.apical;
    // A tooth that lies along its own buccal direction has none; any normal then keeps the frame
    // sound.
    frame.buccal = flat.norm() > 0.1 ? flat.normalized() : any_normal(frame.apical);
    frame.mesial = frame.apical.cross(frame.buccal);
    if (frame.mesial.dot(mesial) < 0) frame.mesial = -frame.mesial;
    return frame;
}

double direction_deg(const ClinicalFrame& frame, const Vec3& direction_P) {
    return std::atan2(direction_P.dot(frame.mesial), direction_P.dot(frame.buccal)) * 180.0 /
           std::numbers::pi;
}

std::string direction_name(const ClinicalFrame& frame, const Vec3& direction_P) {
    const Vec3 flat = direction_P - direction_P.dot(frame.apical) * frame.apical;
    if (flat.norm() < 1e-9) return "";
    const double turn = direction_deg(frame, flat);
    const auto sector = [turn](int count) {
        return (static_cast<int>(std::lround(turn * count / 360.0)) + count) % count;
    };
    if (!frame.known) {
        const char* const names[] = {"left", "front", "right", "back"};
        return names[sector(4)];
    }
    const std::string inner = frame.upper ? "P" : "L";
    const std::string names[] = {"B", "MB", "M", "M" + inner, inner, "D" + inner, "D", "DB"};
    return names[sector(8)];
}

}  // namespace anfract
