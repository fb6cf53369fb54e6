#pragma once

#include "anfract/tray/device.h"
#include "anfract/tray/material.h"
#include "moment_curve.h"

namespace anfract {

/// A device as a beam, read by distance from its tip.
class Beam {
  public:
    explicit Beam(const Device& device);

    const Device& device() const { return *device_; }
    double radius_mm(double x_mm) const { return device_->diameter_mm_at(x_mm) / 2; }
    /// d(radius)/dx by difference over 0.02 mm.
    double radius_slope(double x_mm) const;
    /// At small strain, with the scale of a measured bending moment.
    double stiffness_Nmm2(double x_mm) const;
    const MomentCurve& curve() const { return curve_; }
    /// Integral of 1/EI from `from_mm` to `to_mm` (1/(N mm)); 0 when the interval is empty.
    double flexibility_per_Nmm(double from_mm, double to_mm) const;

  private:
    const Device* device_;
    MomentCurve curve_;
    double factor_ = 0;  // E * inertia ratio * pi / 64 * scale
};

/// What is usual for a kind of device. All figures: common practice, no source; all can be replaced
/// by options.
struct KindHabits {
    double max_push_N;        ///< what a careful hand or a handpiece pushes with
    double cut_allowance_mm;  ///< diameter a cutting device widens while it advances in one go
    double stop_room_mm;      ///< length under the handle that the stop takes
    bool strain_stops;        ///< false for hand files: they are bent by hand before use
    bool held_at_mark;        ///< held by tweezers at the working length, not by a handle
    double speed_rpm;         ///< 0: is not driven
    double feed_mm_per_s;     ///< advance of a driven instrument
};
KindHabits habits_of(DeviceKind kind);

}  // namespace anfract
