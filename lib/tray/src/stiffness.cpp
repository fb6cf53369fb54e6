#include "anfract/tray/stiffness.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "anfract/tray/material.h"

namespace anfract {
namespace {

constexpr double clamp_mm = 3.0;           // [ISO3630-1]: the tip is clamped at 3 mm
constexpr double longest_lever_mm = 13.0;  // from the clamp to the end of a working part of 16 mm
constexpr double test_angle = std::numbers::pi / 4;
constexpr int halvings = 40;  // bring an interval below 1e-12 of its length

double computed_stiffness_Nmm2(const Device& device, double modulus_MPa, double x_mm) {
    const double outside = device.diameter_mm_at(x_mm);
    const double bore = std::min(device.bore_mm.value_or(0.0), 0.95 * outside);
    return modulus_MPa * device.section.inertia_ratio * std::numbers::pi / 64 *
           (std::pow(outside, 4) - std::pow(bore, 4));
}

/// The instrument in the test, cut into pieces along the lever.
class BendingTest {
  public:
    explicit BendingTest(const Device& device) : law_(moment_law_of(device)) {
        const double modulus = facts_of(device.material).modulus_MPa;
        const double free_mm = std::max(device.length_mm - clamp_mm, 1e-3);
        const double lever = std::min(
            std::clamp(device.working_part_mm - clamp_mm, free_mm / 2, longest_lever_mm), free_mm);
        piece_mm_ = lever / pieces;
        for (int i = 0; i < pieces; ++i) {
            const double x = clamp_mm + (i + 0.5) * piece_mm_;
            stiffness_.push_back(computed_stiffness_Nmm2(device, modulus, x));
            half_width_.push_back(device.diameter_mm_at(x) / 2);
        }
    }

    double moment_Nmm() const {
        // The bend of the first piece decides all others; bisecting it also works where steel flows
        // and the moment hardly grows.
        double low = 0, high = 1;
        while (chord_angle(moment_of(0, high)) < test_angle && high < 1e3) high *= 2;
        for (int i = 0; i < halvings; ++i) {
            const double middle = (low + high) / 2;
            (chord_angle(moment_of(0, middle)) < test_angle ? low : high) = middle;
        }
        return moment_of(0, high) / (1 - 0.5 / pieces);
    }

  private:
    static constexpr int pieces = 60;

    double moment_of(int piece, double curvature) const {
        return stiffness_[piece] * curvature * law_.secant(curvature * half_width_[piece]);
    }

    double curvature_of(int piece, double moment) const {
        double low = moment / stiffness_[piece], high = low;
        while (moment_of(piece, high) < moment && high < 1e3) high *= 2;
        for (int i = 0; i < halvings && high > low; ++i) {
            const double middle = (low + high) / 2;
            (moment_of(piece, middle) < moment ? low : high) = middle;
        }
        return high;
    }

    /// Turn of the chord from clamp to pin when the first piece carries `first_moment`.
    double chord_angle(double first_moment) const {
        double angle = 0;
        for (int i = 0; i < pieces; ++i) {
            const double share = 1 - (i + 0.5) / pieces;
            const double moment = first_moment * share / (1 - 0.5 / pieces);
            angle += share * curvature_of(i, moment) * piece_mm_;
        }
        return angle;
    }

    MomentLaw law_;
    double piece_mm_ = 0;
    std::vector<double> stiffness_, half_width_;
};

}  // namespace

MomentLaw moment_law_of(const Device& device) {
    const double outside = device.diameter_mm_at(device.length_mm / 2);
    return MomentLaw(device.material, device.bore_mm.value_or(0.0) / outside);
}

double bending_test_moment_mNm(const Device& device) {
    return BendingTest(device).moment_Nmm();  // 1 N mm = 1 mN m
}

double bending_test_scale(const Device& device) {
    if (!device.bending_moment_45deg_mNm) return 1.0;
    return *device.bending_moment_45deg_mNm / bending_test_moment_mNm(device);
}

double computed_stiffness_Nmm2(const Device& device, double x_mm) {
    return computed_stiffness_Nmm2(device, facts_of(device.material).modulus_MPa, x_mm);
}

}  // namespace anfract
