#include "anfract/plan/plan.h"

namespace anfract {

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
