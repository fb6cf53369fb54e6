#include "rehearsal_json.h"

#include <nlohmann/json.hpp>

#include "request_json.h"

namespace anfract::server {
using nlohmann::json;

Result<Rehearsal> rehearsal_of(const json& body) {
    Rehearsal wanted;
    const auto canal = text_of(body, "canal"), device = text_of(body, "device");
    if (!canal) return tl::unexpected(canal.error());
    if (!device) return tl::unexpected(device.error());
    wanted.canal = *canal;
    wanted.device = *device;
    const auto access = optional_text(body, "access");
    if (!access) return tl::unexpected(access.error());
    if (*access && **access != "axial" && **access != "straight") {
        return fail(ErrorCode::BadInput, "is neither axial nor straight", "access",
                    "give one of them");
    }
    wanted.how.access = *access == "straight" ? Access::Straight : Access::Axial;
    const auto friction = optional_number(body, "friction"),
               tip = optional_number(body, "tip_depth_mm");
    if (!friction) return tl::unexpected(friction.error());
    if (!tip) return tl::unexpected(tip.error());
    if (*friction && (**friction < 0 || **friction > 2)) {
        return fail(ErrorCode::BadInput, "is not from 0 to 2", "friction",
                    "give a Coulomb coefficient such as 0.2");
    }
    wanted.how.friction = friction->value_or(wanted.how.friction);
    wanted.tip_depth_mm = *tip;
    return wanted;
}

}  // namespace anfract::server
