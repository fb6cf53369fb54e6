#include "findings.h"

namespace anfract::tracing {

std::vector<std::string> findings_of(const Tooth& tooth) {
    std::vector<std::string> findings;
    for (const Canal& canal : tooth.canals) {
        if (canal.presence.value_or(1) < 0.9) {
            findings.push_back("Canal " + canal.name + " is doubtful.");
        }
    }
    return findings;
}

}  // namespace anfract::tracing
