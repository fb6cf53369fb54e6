#include "trials.h"

#include "anfract/base/parallel.h"

namespace anfract {
namespace {

Result<Attempt> try_one(const Bench& bench, const Trial& trial) {
    switch (trial.how) {
        case How::Open:
            return bench.open(*trial.state, *trial.device,
                              trial.open_to_mm > 0 ? trial.open_to_mm : bench.upper_part_mm());
        case How::Descend:
            return bench.descend(*trial.state, *trial.device);
        case How::Finish:
            break;
    }
    return bench.finish(*trial.state, *trial.device);
}

}  // namespace

Result<std::vector<Attempt>> Trials::run(const std::vector<Trial>& trials, Note note) {
    std::vector<Result<Attempt>> slots(trials.size(), Attempt{});
    parallel_for(trials.size(), options_.threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t i = begin; i < end && !progress_.cancelled(); ++i)
            slots[i] = try_one(bench_, trials[i]);
    });
    if (progress_.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
    std::vector<Attempt> attempts;
    for (auto& slot : slots) {
        if (slot) {
            attempts.push_back(std::move(*slot));
        } else if (slot.error().code == ErrorCode::NotConverged) {
            // An instrument the solver cannot place is not one to recommend.
            attempts.push_back({});
            attempts.back().why = slot.error().what;
        } else {
            return tl::unexpected(slot.error());
        }
    }
    for (std::size_t i = 0; note == Note::Yes && i < attempts.size(); ++i)
        ledger_.note_attempt(*trials[i].device, *trials[i].state, attempts[i],
                             trials[i].how == How::Finish);
    return attempts;
}

}  // namespace anfract
