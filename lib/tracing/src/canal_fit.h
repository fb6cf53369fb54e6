#pragma once

#include <optional>
#include <vector>

#include "canal_paths.h"
#include "levels.h"
#include "mouth.h"
#include "section.h"
#include "station.h"

namespace anfract::tracing {

/// One place of a fitted canal.
struct FittedSection {
    Station station;
    double diameter_mm = 0;  ///< of equal area
    double diameter_sd_mm = 0;
    double ratio = 1;          ///< long over short diameter
    double long_axis_rad = 0;  ///< from n1 toward n2
    double centre_sd_mm = 0;   ///< of each coordinate across the line
};

/// Centreline and sections of a canal from its start to its end, at most `station_spacing_mm`
/// apart.
struct FittedCanal {
    std::vector<FittedSection> sections;
    double foramen_sd_mm = 0.2;
    double centre_correlation_mm = 0;  ///< over which errors of the centres hang together
    std::optional<MouthCap> mouth;     ///< the surface over its end
};

inline constexpr double station_spacing_mm = 0.2;
inline constexpr double guessed_width_mm = 0.3;  ///< of a canal that is not fitted yet

/// A place of a canal that the user fixed: its centre and, if drawn, its section.
struct FixedPlace {
    Vec3 point_P{0, 0, 0};
    double diameter_mm = 0;  ///< of equal area; 0: only the centre is fixed
    double ratio = 1;        ///< long over short diameter
    Vec3 long_axis_P{1, 0, 0};
};

/// What the fit of one canal needs beside its path.
struct FitInput {
    const Brick& brick;
    const ToothBody& body;
    const GreyLevels& levels;
    Polyline start;  ///< of the path, P
    std::vector<std::vector<FittedSection>>
        others;                     ///< the other canals: what they explain is theirs
    bool ends_at_surface = true;    ///< else it ends in another canal
    bool starts_in_chamber = true;  ///< else in another canal or at a point given by hand
    std::vector<FixedPlace> fixed;  ///< holds whatever the image says
    unsigned threads = 0;
    /// Where it begins or ends in another canal: that one's line, from there on away from this one.
    std::optional<Polyline> before = std::nullopt, onward = std::nullopt;
};

/// Fits the centreline and the area along it to the sections: docs/methods/tracing.md, "Fit".
FittedCanal fit_canal(const FitInput& input);

/// Sections along a line with a guessed width, for a canal that is not fitted yet.
FittedCanal unfitted(const Polyline& line);

/// Takes off the beginning of a canal as far as it runs across a chamber instead of down a root:
/// there the line follows nothing, and may wander for millimetres that no instrument takes.
/// @param coronal_P  from the roots to the crown, of length 1
void leave_chamber(const Vec3& coronal_P, FittedCanal& canal);

/// The centreline of a fitted canal.
Polyline line_of(const FittedCanal& canal);

/// The same canal walked from its end to its start.
FittedCanal reversed(const FittedCanal& canal);

/// The section whose centre is nearest to a point. @pre not empty
const FittedSection& nearest_section(const std::vector<FittedSection>& sections,
                                     const Vec3& point_P);

/// Voxel centres of a path in P, smoothed to a line without the voxel staircase.
Polyline smooth_line(const std::vector<std::size_t>& voxels, const GridGeometry& geometry);

}  // namespace anfract::tracing
