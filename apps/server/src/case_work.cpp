#include "case_work.h"

#include <atomic>
#include <optional>
#include <vector>

#include "anfract/base/parallel.h"
#include "anfract/passage/passage_file.h"
#include "anfract/passage/rehearse.h"
#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "anfract/tooth/measure_deviations.h"
#include "anfract/tooth/measures_json.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// What a plan depends on, beside the tooth.
std::string state_of(const TrayNow& now, const MeasuredDepths& measured) {
    return std::to_string(now.revision) + json(measured).dump();
}

}  // namespace

Result<std::shared_ptr<const Lumen>> CaseWork::lumen(const std::string& canal) {
    const Canal* const found = tooth.find(canal);
    if (found == nullptr) {
        return fail(ErrorCode::NotFound, "there is no canal '" + canal + "' in this case", "canal",
                    "choose one of the tooth's canals");
    }
    const std::lock_guard lock(lumen_mutex_);
    std::shared_ptr<const Lumen>& kept = lumens_[canal];
    if (!kept) {
        Result<Lumen> made = lumen_of(*found);
        if (!made) return tl::unexpected(made.error());
        kept = std::make_shared<const Lumen>(std::move(*made));
    }
    return kept;
}

Result<std::shared_ptr<const std::string>> CaseWork::measures() {
    return measures_.get("", [&]() -> Result<std::string> {
        auto measured = measure(tooth);
        if (!measured) return tl::unexpected(measured.error());
        add_deviations(tooth, *measured);
        return measures_to_json(tooth, *measured).dump();
    });
}

Result<std::shared_ptr<const std::string>> CaseWork::passages(const TrayNow& now,
                                                              const Progress& progress) {
    return passages_.get(std::to_string(now.revision), [&]() -> Result<std::string> {
        std::vector<std::shared_ptr<const Lumen>> lumens;
        for (const Canal& canal : tooth.canals) {
            const auto one = lumen(canal.name);
            if (!one) return tl::unexpected(one.error());
            lumens.push_back(*one);
        }
        const std::vector<Device>& devices = now.tray.devices;
        std::vector<std::optional<Result<Passage>>> tried(lumens.size() * devices.size());
        std::atomic<std::size_t> done = 0;
        parallel_for(tried.size(), 0, [&](std::size_t begin, std::size_t end) {
            for (std::size_t i = begin; i < end && !progress.cancelled(); ++i) {
                tried[i] = rehearse(*lumens[i / devices.size()], devices[i % devices.size()]);
                progress.report(static_cast<double>(++done) / static_cast<double>(tried.size()),
                                "trying every device in every canal");
            }
        });
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
        std::vector<Passage> passages;
        json left_out = json::array();
        for (std::size_t i = 0; i < tried.size(); ++i) {
            if (*tried[i]) {
                passages.push_back(std::move(**tried[i]));
            } else {
                left_out.push_back({{"canal", lumens[i / devices.size()]->canal},
                                    {"device", devices[i % devices.size()].id},
                                    {"sentence", tried[i]->error().sentence()}});
            }
        }
        json answer = passages_to_json(passages, tooth.fdi, false);
        if (!left_out.empty()) answer["left_out"] = left_out;
        return answer.dump();
    });
}

Result<std::shared_ptr<const Plan>> CaseWork::plan(const TrayNow& now,
                                                   const MeasuredDepths& measured,
                                                   const Progress& progress) {
    return plan_.get(state_of(now, measured), [&] {
        PlanOptions options;
        options.measured_depths_mm = measured;
        return make_plan(tooth, now.tray, options, progress);
    });
}

Result<std::shared_ptr<const std::string>> CaseWork::plan_document(const TrayNow& now,
                                                                   const MeasuredDepths& measured,
                                                                   const Progress& progress) {
    return plan_document_.get(state_of(now, measured), [&]() -> Result<std::string> {
        const auto made = plan(now, measured, progress);
        if (!made) return tl::unexpected(made.error());
        return plan_to_json(**made).dump();
    });
}

}  // namespace anfract::server
