#pragma once

#include <optional>

#include "anfract/base/result.h"
#include "anfract/passage/lumen.h"
#include "anfract/passage/passage.h"
#include "anfract/tray/device.h"

namespace anfract {

/// How a device is tried.
struct RehearsalOptions {
    Access access = Access::Axial;
    double friction = 0.2;                  ///< Coulomb coefficient, device on wet dentine
    std::optional<double> max_push_N = {};  ///< default by kind of device
    std::optional<double> max_strain = {};  ///< default by material
    /// How much wider than the canal a cutting device may be (diameter); default by kind, 0 for
    /// devices that do not cut.
    std::optional<double> cut_allowance_mm = {};
    std::optional<double> stop_room_mm = {};  ///< kept below the handle for the stop; by kind
    /// Of a turning nickel-titanium instrument: what a root canal has (from memory); absent: room.
    std::optional<double> temperature_degC = 35.0;
    double spacing_mm = 0.09;  ///< of nodes along the device, at most; depths of neighbours differ
                               ///< by some per cent more on an outer wall
};

/// A depth rounded down to what a stop is set to: quarters of a millimetre (common practice, no
/// source).
double stop_setting_mm(double depth_mm);

/// What this kind of device is usually pushed with at most (N; common practice, no source).
double usual_push_N(DeviceKind kind);

/// How far the device goes when it is advanced from the orifice, and what it does there. All
/// figures are of an equilibrium that was found; where none is below some depth, the answer ends
/// there and says so (StoppedBy::Unknown). Errors: BadInput (device or lumen without extent),
/// NotConverged (none was found at any depth).
Result<Passage> rehearse(const Lumen& lumen, const Device& device,
                         const RehearsalOptions& options = {});

/// The device held with its tip at `tip_depth_mm`, whether or not it would go there by itself;
/// `stopped_by` and `why` then say what limit is nearest. For dragging a device along the ruler.
Result<Passage> hold_at(const Lumen& lumen, const Device& device, double tip_depth_mm,
                        const RehearsalOptions& options = {});

}  // namespace anfract
