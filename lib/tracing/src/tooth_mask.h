#pragma once

#include "anfract/base/result.h"
#include "levels.h"

namespace anfract::tracing {

/// What is brighter than pulp by more than that share of the contrast and hangs together round the
/// click by necks wider than `neck_mm`: the tooth, while the thin dark ligament keeps bone and
/// neighbours apart. Pulp and canals are not in it. Errors: BadInput when there is none.
Result<Mask> find_hard_tooth(const Brick& brick, const GreyLevels& levels, const Vec3& click_P,
                             double neck_mm, double share, unsigned threads);

/// The box (centre and half sizes in P) of a mask, grown by `margin_mm`.
struct Box {
    Vec3 centre_P{0, 0, 0};
    Vec3 half_mm{0, 0, 0};
};
Box box_of(const Mask& mask, const GridGeometry& geometry, double margin_mm);

/// The part of a mask that another grid of the same voxels covers; 0 outside the first.
Mask cropped(const Mask& mask, const GridGeometry& from, const GridGeometry& to);

/// The tooth as a solid: dentine, enamel, fillings and all that they enclose, the pulp too.
struct ToothBody {
    Mask solid;
    Brick depth;  ///< signed distance to the outer surface, mm, positive inside
};

/// Closes canals and pits up to `bridge_mm` wide and fills what is enclosed:
/// docs/methods/tooth-surface.md.
ToothBody solid_tooth(const Mask& hard, const GridGeometry& geometry, double bridge_mm,
                      unsigned threads);

}  // namespace anfract::tracing
