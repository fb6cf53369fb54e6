#include "anfract/tracing/trace_session.h"

#include <utility>

#include "edits.h"
#include "possible.h"
#include "trace_steps.h"
#include "write_up.h"

namespace anfract {

using namespace tracing;

/// Every state that a beginning of the last list of edits led to; the first is that without edits.
struct TraceSession::State {
    struct Step {
        CanalEdit edit;
        NamedCanals canals;
        Tooth tooth;
    };

    TraceRequest request;
    Site site;
    NamedCanals traced;
    std::vector<CanalPath> possible;
    Tooth tooth;
    std::vector<Step> steps;

    const NamedCanals& canals_before(std::size_t step) const {
        return step == 0 ? traced : steps[step - 1].canals;
    }

    Result<Step> carried_out(const CanalEdit& edit, std::size_t step) const {
        Step next{edit, canals_before(step), {}};
        const Result<void> done = apply_edit(edit, site, next.canals);
        if (!done) {
            Error error = done.error();
            error.where = "edit " + std::to_string(step + 1);
            return tl::unexpected(std::move(error));
        }
        const auto& canals = next.canals.canals;
        next.tooth = write_up(request, site, closed_body(site, canals), canals, next.canals.names);
        next.canals.names.clear();
        for (const Canal& canal : next.tooth.canals) next.canals.names.push_back(canal.name);
        next.tooth.surface = tooth.surface;
        next.tooth.chamber = tooth.chamber;
        add_possible(site, possible, next.tooth);
        add_findings(request, site, canals, next.tooth);
        return next;
    }
};

TraceSession::TraceSession(std::unique_ptr<State> state) : state_(std::move(state)) {}
TraceSession::TraceSession(TraceSession&&) noexcept = default;
TraceSession& TraceSession::operator=(TraceSession&&) noexcept = default;
TraceSession::~TraceSession() = default;

Result<TraceSession> TraceSession::open(const Volume& volume, const TraceRequest& request,
                                        const Progress& progress) {
    Result<Site> site = prepare(volume, request, progress);
    if (!site) return tl::unexpected(site.error());
    std::vector<CanalPath> possible;
    Result<std::vector<TracedCanal>> canals = canals_of(*site, request, progress, possible);
    if (!canals) return tl::unexpected(canals.error());
    auto state = std::make_unique<State>();
    state->request = request;
    state->tooth = whole_tooth(*site, request, *canals, possible, progress);
    state->possible = std::move(possible);
    state->site = std::move(*site);
    state->traced.canals = std::move(*canals);
    for (const Canal& canal : state->tooth.canals) state->traced.names.push_back(canal.name);
    progress.report(1, "done");
    return TraceSession(std::move(state));
}

const Tooth& TraceSession::traced() const { return state_->tooth; }

Result<Tooth> TraceSession::edited(const std::vector<CanalEdit>& edits) {
    std::vector<State::Step>& steps = state_->steps;
    std::size_t same = 0;
    while (same < steps.size() && same < edits.size() && steps[same].edit == edits[same]) ++same;
    if (same == edits.size()) return same == 0 ? state_->tooth : steps[same - 1].tooth;
    // The old branch goes only when the new one is sound.
    std::vector<State::Step> kept(steps.begin(), steps.begin() + std::ptrdiff_t(same));
    std::swap(kept, steps);
    for (std::size_t n = same; n < edits.size(); ++n) {
        Result<State::Step> next = state_->carried_out(edits[n], n);
        if (!next) {
            std::swap(kept, steps);
            return tl::unexpected(next.error());
        }
        steps.push_back(std::move(*next));
    }
    return steps.back().tooth;
}

}  // namespace anfract
