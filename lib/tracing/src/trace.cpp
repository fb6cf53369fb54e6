#include "anfract/tracing/trace.h"

#include "trace_steps.h"
#include "write_up.h"

namespace anfract {

Result<Tooth> trace(const Volume& volume, const TraceRequest& request, const Progress& progress) {
    const Result<tracing::Site> site = tracing::prepare(volume, request, progress);
    if (!site) return tl::unexpected(site.error());
    std::vector<tracing::CanalPath> possible;
    const Result<std::vector<tracing::TracedCanal>> canals =
        tracing::canals_of(*site, request, progress, possible);
    if (!canals) return tl::unexpected(canals.error());
    Tooth tooth = tracing::whole_tooth(*site, request, *canals, possible, progress);
    progress.report(1, "done");
    return tooth;
}

}  // namespace anfract
