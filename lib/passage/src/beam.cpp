#include "beam.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/tray/stiffness.h"

namespace anfract {

Beam::Beam(const Device& device)
    : device_(&device),
      curve_(moment_law_of(device)),
      factor_(facts_of(device.material).modulus_MPa * device.section.inertia_ratio *
              std::numbers::pi / 64 * bending_test_scale(device)) {}

double Beam::radius_slope(double x_mm) const {
    return (radius_mm(x_mm + 0.01) - radius_mm(std::max(x_mm - 0.01, 0.0))) /
           (x_mm + 0.01 - std::max(x_mm - 0.01, 0.0));
}

double Beam::stiffness_Nmm2(double x_mm) const {
    const double outside = device_->diameter_mm_at(x_mm);
    const double bore = std::min(device_->bore_mm.value_or(0.0), 0.95 * outside);
    const double o2 = outside * outside, b2 = bore * bore;
    return factor_ * (o2 * o2 - b2 * b2);
}

double Beam::flexibility_per_Nmm(double from_mm, double to_mm) const {
    if (to_mm <= from_mm) return 0;
    constexpr int pieces = 24;
    const double piece = (to_mm - from_mm) / pieces;
    double sum = 0;
    for (int i = 0; i < pieces; ++i) sum += piece / stiffness_Nmm2(from_mm + (i + 0.5) * piece);
    return sum;
}

KindHabits habits_of(DeviceKind kind) {
    switch (kind) {
        case DeviceKind::HandFile:
            return {2.0, 0.05, 2.0, false, false, 0, 0};
        case DeviceKind::RotaryFile:
            return {3.0, 0.06, 2.0, true, false, 300, 1};
        case DeviceKind::ReciprocatingFile:
            return {3.0, 0.06, 2.0, true, false, 300, 1};
        case DeviceKind::IrrigationCannula:
            return {1.0, 0, 1.0, true, false, 0, 0};
        case DeviceKind::AgitationTip:
            return {0.5, 0, 1.0, true, false, 0, 0};
        case DeviceKind::PaperPoint:
            return {0.5, 0, 0, true, true, 0, 0};
        case DeviceKind::Cone:
            return {1.0, 0, 0, true, true, 0, 0};
        case DeviceKind::Plugger:
            return {5.0, 0, 1.0, true, false, 0, 0};
        case DeviceKind::HeatTip:
            return {5.0, 0, 1.0, true, false, 0, 0};
        case DeviceKind::InjectionCannula:
            return {2.0, 0, 1.0, true, false, 0, 0};
        case DeviceKind::CoronalCompactor:
            return {3.0, 0, 2.0, true, false, 8000, 1};
    }
    return {};
}

}  // namespace anfract
