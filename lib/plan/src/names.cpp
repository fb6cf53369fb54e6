#include "anfract/plan/plan.h"

namespace anfract {

bool only_finds_the_way(const CanalPlan& plan) {
    return plan.final_size && !plan.order.empty() && plan.final_size->tip_mm < 0.105 &&
           plan.order.back().kind == DeviceKind::HandFile;
}

std::string to_string(Job job) {
    switch (job) {
        case Job::Rinse:
            return "rinse";
        case Job::Agitate:
            return "agitate";
        case Job::Dry:
            return "dry";
        case Job::Fit:
            return "fit";
        case Job::Compact:
            return "compact";
        case Job::Fill:
            return "fill";
        case Job::Coronal:
            return "coronal";
    }
    return "";
}

std::string to_string(CanalState state) {
    switch (state) {
        case CanalState::Native:
            return "native";
        case CanalState::During:
            return "during";
        case CanalState::Shaped:
            return "shaped";
    }
    return "";
}

}  // namespace anfract
