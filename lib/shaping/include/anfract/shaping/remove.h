#pragma once

#include "anfract/passage/lumen.h"
#include "anfract/passage/passage.h"
#include "anfract/tray/device.h"

namespace anfract {

struct RemovalOptions {
    /// Depth worn off per contact force per length and pass, mm per (N/mm). No figure for files in
    /// dentine is known to us, so none is assumed.
    double wear_mm_per_N_per_mm = 0;
    int passes = 1;
};

/// The canal after `device` has been worked to the depth of `passage`.
///
/// At each station the instrument is a circle of its local diameter about its offset u from the
/// centreline; toward theta its edge lies at rho = u.e + sqrt((u.e)^2 - |u|^2 + r^2), and R becomes
/// max(R, rho). Where the instrument presses on the wall, wear proportional to force and passes is
/// added [Archard1953]. W loses what R gains and never falls below 0. Devices that do not cut leave
/// the canal as it is.
///
/// @param passage  of this device in this lumen, with its profile
/// @return the new lumen: same stations and directions, R nowhere smaller
/// Accuracy: exact for a coaxial instrument (RemoveTest); the circle is the section's envelope, so
/// an instrument with fewer edges removes at most this.
Lumen after(const Lumen& lumen, const Device& device, const Passage& passage,
            const RemovalOptions& options = {});

}  // namespace anfract
