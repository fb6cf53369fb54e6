#pragma once

#include <optional>
#include <string>

#include "anfract/phantom/tooth_design.h"

namespace anfract {

// The designs before variation, one function per kind.
ToothDesign lower_molar_design();
ToothDesign upper_molar_design();
ToothDesign lower_premolar_design();
ToothDesign upper_lateral_design();
ToothDesign narrowed_design();
/// A premolar whose only canal is straight, round and of one width: for comparison with closed
/// forms.
ToothDesign straight_design(double diameter_mm);
/// An upper premolar whose root has the canal system "I" to "VIII" of [Vertucci1984]; nothing for
/// any other text. Not varied: what differs from seed to seed is its place and the noise.
std::optional<ToothDesign> canal_system_design(const std::string& type);

/// Widths from the medians at 1, 2 and 5 mm from the apex (buccolingual = long, mesiodistal =
/// short), the foramen slightly wider than the constriction, and the width at the orifice
/// `orifice_mm` from the foramen.
std::vector<WidthDesign> widths(const WidthDesign& at_1, const WidthDesign& at_2,
                                const WidthDesign& at_5, const WidthDesign& orifice);

}  // namespace anfract
