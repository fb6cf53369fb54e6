#pragma once

#include <optional>

#include "anfract/passage/passage.h"
#include "beam.h"
#include "rod.h"

namespace anfract {

/// Moment of a solid round section on its way back to surface strain `strain` after it was bent to
/// `most`, over E I times the bend at `most`.
///
/// A fibre goes back by its modulus. Superelastic alloy does so only down to its lower plateau, 138
/// MPa where the upper one begins at 379 (typical data of a wire supplier, 1999) and taken as
/// rising alike, and follows that back to the elastic line, so that it springs back whole; strain
/// beyond the yield of its martensite (see tray.md) stays. Over the section
///     8/(pi most E) * integral over [-1, 1] of sigma(strain t; most t) t sqrt(1 - t^2) dt.
/// Yield of fibres in the other direction on the way back is left out.
/// @pre 0 <= strain <= most, most above 0
double unloading_moment(const Beam& beam, double strain, double most);

/// Surface strain of the bend that a section bent to `most` keeps when it is let go.
double kept_strain(const Beam& beam, double most);

/// What drawing the device out leaves in it; none for a linear material.
std::optional<Withdrawal> withdrawal_of(const Beam& beam, const RodState& state);

}  // namespace anfract
