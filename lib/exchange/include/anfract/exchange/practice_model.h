#pragma once

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// What surrounds the hollow canals.
enum class ModelBody { Tooth, Block };

struct ModelOptions {
    ModelBody body = ModelBody::Tooth;
    double scale = 1;  ///< 0.5 to 20: size of the model over that of the tooth
    bool opened =
        true;  ///< a straight opening from the crown to the orifices, so that resin drains
    double grid_mm = 0;  ///< of the tooth, not the model; 0: a fifth of the narrowest canal
};

/// A solid to print and practise on.
struct PracticeModel {
    Surface surface;                ///< closed, mm, the crown up (+z), the lowest point at z = 0
    double grid_mm = 0;             ///< as used, of the tooth
    double narrowest_mm = 0;        ///< of the model's canals
    std::string narrowest_canal;    ///< where that is
    double narrowest_depth_mm = 0;  ///< of the tooth, from the reference point
};

/// A solid with the pulp chamber and the canals hollow, each open at its foramen.
///
/// The outer surface, the chamber and a tube of the canal's elliptic sections along its centreline
/// become signed distances on a sparse grid; the hollows are taken off the body there [Museth2013],
/// and the zero level is made triangles again. The surface lies within half a grid step of the
/// exact one; edges are rounded by about as much.
///
/// A block is a box with 2 mm round all canals; each canal goes on straight from its foramen
/// through the wall, so that it can be rinsed.
///
/// Errors: BadInput (no canal, an option out of range, Tooth without an outer surface, a grid too
/// fine for the memory), Cancelled.
Result<PracticeModel> practice_model(const Tooth& tooth, const ModelOptions& options,
                                     const Progress& progress);

}  // namespace anfract
