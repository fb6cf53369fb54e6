#pragma once

#include <string>

#include "anatomy.h"
#include "anfract/phantom/random.h"
#include "anfract/phantom/tooth_design.h"

namespace anfract {

/// What one draw of a tooth decides before its canals are laid.
struct ToothDraw {
    const ToothAnatomy* anatomy = nullptr;
    bool upper = false;
    int place = 1;
    double length_mm = 22;
    double wider = 1;        ///< factor on all canal widths
    bool calcified = false;  ///< narrow canals and a low chamber
    bool open_apex = false;  ///< the root end has not closed

    bool molar() const { return place >= 6; }
    bool premolar() const { return place == 4 || place == 5; }
};

/// A permanent tooth drawn from the distributions of `anatomy_of`; the same seed draws the same
/// tooth. Draws whose canals of different roots run into one another, or break out of their root,
/// are thrown away and drawn again.
///
/// @param fdi  ISO 3950 number of a permanent tooth; empty: drawn as well
/// Errors: BadInput when there is no such permanent tooth.
Result<ToothDesign> random_tooth(const std::string& fdi, std::uint64_t seed);

/// Crown, chamber and their places, without canals and roots.
ToothDesign random_form(const ToothDraw& draw, Random& random);

/// Adds a root with its canals to `tooth`.
void add_root(const ToothDraw& draw, const RootAnatomy& anatomy, Random& random,
              ToothDesign& tooth);

}  // namespace anfract
