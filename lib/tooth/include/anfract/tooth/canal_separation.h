#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/tooth/clinical_frame.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// How far apart a radiograph shows two canals. Only heights count where the canals are apart in
/// space: where they have joined no view can part them.
struct PairSeparation {
    std::string first, second;
    double apart_share = 0;  ///< of these heights, where the outlines do not overlap; 0 to 1
    double distance_mm = 0;  ///< mean distance of the centrelines across the rays
};

/// A view in which all canals are looked at: the viewer stands `turn_deg` round the tooth from
/// buccal toward mesial, the rays are parallel, the receptor is at right angles to them.
struct SeparationView {
    double turn_deg = 0;
    double least_share = 0;  ///< of the pair that is seen apart least
    std::vector<PairSeparation> pairs;
};

struct SeparationViews {
    SeparationView usual;  ///< from buccal
    SeparationView best;   ///< the smallest turn that parts the worst pair as far as any turn does
};

struct SeparationOptions {
    double most_turn_deg = 45;  ///< a tube is not brought further round
    double step_mm = 0.25;      ///< of height along the tooth
    /// Shares closer than this count as equal, so that a small turn wins over a larger one that
    /// parts hardly more.
    double equal_share = 0.02;
};

/// The canals as a view shows them, at heights along `frame.apical`:
///     seen apart at height h  <=>  |(c1(h) - c2(h)) . e| >= (d1(h) + d2(h)) / 2
/// with e = -sin(turn) buccal + cos(turn) mesial, c the centrelines and d their diameters. Two
/// canals that lie one behind the other by s are s sin(turn) apart (the object farther from the
/// tube moves with it). Without value when no two canals are apart in space at any height. Method:
/// docs/methods/canal-separation.md.
std::optional<SeparationViews> separation_views(const Tooth& tooth, const ClinicalFrame& frame,
                                                const SeparationOptions& options = {});

}  // namespace anfract
