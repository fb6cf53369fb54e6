#include "anfract/tooth/move_reference.h"

namespace anfract {

Tooth with_reference(Tooth tooth, const Vec3& reference_P) {
    for (Canal& canal : tooth.canals) {
        const double further_mm =
            (canal.orifice_P - reference_P).norm() - (canal.orifice_P - tooth.reference_P).norm();
        canal.depth_to_foramen_mm += further_mm;
        for (CanalSample& sample : canal.samples) sample.depth_mm += further_mm;
        if (canal.joins) canal.joins->depth_mm += further_mm;
        if (canal.leaves) canal.leaves->depth_mm += further_mm;
    }
    for (PossibleCanal& possible : tooth.possible) {
        possible.first_sign_depth_mm = (possible.first_sign_P - reference_P).norm();
    }
    tooth.reference_P = reference_P;
    return tooth;
}

}  // namespace anfract
