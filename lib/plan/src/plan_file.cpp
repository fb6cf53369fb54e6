#include "anfract/plan/plan_file.h"

#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/passage/passage_file.h"
#include "anfract/tooth/measures.h"
#include "anfract/tooth/measures_json.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tray/tray_file.h"
#include "passage_json.h"
#include "plan_lines_json.h"

namespace anfract {
namespace {

using nlohmann::json;

CanalState state_from(const std::string& word) {
    for (CanalState state : {CanalState::During, CanalState::Shaped}) {
        if (to_string(state) == word) return state;
    }
    return CanalState::Native;
}

/// Whether an index or a name of a line leads nowhere; the schema cannot tell.
Result<void> check_line(const Plan& plan, const std::string& device, int passage,
                        const std::string& place) {
    if (passage < 0 || std::size_t(passage) >= plan.passages.size()) {
        return fail(ErrorCode::BadInput, "passage " + std::to_string(passage) + " does not exist",
                    place, "make the plan again");
    }
    if (!plan.tray.find(device)) {
        return fail(ErrorCode::BadInput, "the plan's tray has no device '" + device + "'", place,
                    "make the plan again");
    }
    return {};
}

Result<void> check_canal(const Plan& plan, const CanalPlan& canal, const std::string& where) {
    const std::string place = where + ": canal " + canal.canal;
    if (!plan.tooth.find(canal.canal)) {
        return fail(ErrorCode::BadInput, "the plan's tooth has no canal '" + canal.canal + "'",
                    where, "make the plan again");
    }
    for (const PlanStep& step : canal.order) {
        if (auto good = check_line(plan, step.device, step.passage, place); !good) return good;
    }
    for (const PlanAlternative& other : canal.alternatives) {
        for (const PlanStep& step : other.order) {
            if (auto good = check_line(plan, step.device, step.passage, place); !good) return good;
        }
    }
    for (const PassiveDevice& passive : canal.passive) {
        if (auto good = check_line(plan, passive.device, passive.passage, place); !good)
            return good;
    }
    if (canal.final_size) {
        const FinalSize& size = *canal.final_size;
        if (auto good = check_line(plan, size.device, size.passage, place); !good) return good;
    }
    if (canal.recapitulation) {
        const Recapitulation& last = *canal.recapitulation;
        if (auto good = check_line(plan, last.device, last.passage, place); !good) return good;
    }
    return {};
}

}  // namespace

json plan_to_json(const Plan& plan) {
    json document{{"format", "anfract.plan"},
                  {"version", 1},
                  {"invented", plan.invented},
                  {"access", plan.access == Access::Axial ? "axial" : "straight"},
                  {"tooth", tooth_to_json(plan.tooth)},
                  {"tray", tray_to_json(plan.tray)},
                  {"passages", json::array()},
                  {"canals", json::array()},
                  {"warnings", json::array()},
                  {"basis", json::array()},
                  {"cautions", plan.cautions}};
    if (const auto measures = measure(plan.tooth)) {
        document["measures"] = measures_to_json(plan.tooth, *measures);
    }
    for (const PlanPassage& entry : plan.passages) {
        json value = passage_to_json(entry.passage, true);
        value["canal_state"] = to_string(entry.state);
        document["passages"].push_back(std::move(value));
    }
    for (const CanalPlan& canal : plan.canals)
        document["canals"].push_back(canal_plan_to_json(canal));
    for (const PlanWarning& warning : plan.warnings) {
        document["warnings"].push_back(warning_to_json(warning));
    }
    for (const PlanBasis& basis : plan.basis) {
        document["basis"].push_back(
            {{"what", basis.what}, {"value", basis.value}, {"source", basis.source}});
    }
    return document;
}

Result<Plan> plan_from_json(const json& document, const std::string& where) {
    const auto checked = check_document(document, "anfract.plan", where);
    if (!checked) return tl::unexpected(checked.error());
    // The schema of the plan leaves these two to their own.
    auto tooth =
        check_document(document.at("tooth"), "anfract.tooth", where + ": tooth")
            .and_then([&](const json& one) { return tooth_from_json(one, where + ": tooth"); });
    if (!tooth) return tl::unexpected(tooth.error());
    auto tray =
        check_document(document.at("tray"), "anfract.tray", where + ": tray")
            .and_then([&](const json& one) { return tray_from_json(one, where + ": tray"); });
    if (!tray) return tl::unexpected(tray.error());
    const json passages{
        {"format", "anfract.passages"}, {"version", 1}, {"passages", document.at("passages")}};
    const auto known = check_document(passages, "anfract.passages", where);
    if (!known) return tl::unexpected(known.error());
    Plan plan;
    plan.invented = document.at("invented");
    plan.access =
        document.value("access", "axial") == "straight" ? Access::Straight : Access::Axial;
    plan.tooth = std::move(*tooth);
    plan.tray = std::move(*tray);
    for (const json& value : document.at("passages")) {
        plan.passages.push_back(
            {passage_from_json(value), state_from(value.value("canal_state", "native"))});
    }
    for (const json& value : document.at("canals"))
        plan.canals.push_back(canal_plan_from_json(value));
    for (const json& value : document.at("warnings"))
        plan.warnings.push_back(warning_from_json(value));
    if (document.contains("basis")) {
        for (const json& value : document["basis"]) {
            plan.basis.push_back({value.at("what"), value.at("value"), value.at("source")});
        }
    }
    plan.cautions = document.at("cautions").get<std::vector<std::string>>();
    for (const CanalPlan& canal : plan.canals) {
        if (auto good = check_canal(plan, canal, where); !good) return tl::unexpected(good.error());
    }
    return plan;
}

Result<Plan> read_plan(const std::filesystem::path& path) {
    const auto document = read_document(path, "anfract.plan");
    if (!document) return tl::unexpected(document.error());
    return plan_from_json(*document, path.string());
}

Result<void> write_plan(const std::filesystem::path& path, const Plan& plan) {
    return write_document(path, plan_to_json(plan), "anfract.plan");
}

}  // namespace anfract
