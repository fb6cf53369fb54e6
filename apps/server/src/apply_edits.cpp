#include <optional>

#include "anfract/tooth/move_reference.h"
#include "edit_list.h"
#include "overloaded.h"

namespace anfract::server {
namespace {

/// The section an outline means in the tooth as it is when it is drawn.
Result<DrawSection> section_of(TraceSession& session, const std::vector<CanalEdit>& before,
                               const DrawOutline& outline) {
    const Result<Tooth> tooth = session.edited(before);
    if (!tooth) return tl::unexpected(tooth.error());
    const Canal* canal = tooth->find(outline.canal);
    if (!canal) {
        return fail(ErrorCode::BadInput, "no canal has the name '" + outline.canal + "'",
                    "edit " + std::to_string(before.size() + 1), "outline a canal that is there");
    }
    return section_of_outline(*canal, outline.outline_P);
}

}  // namespace

Result<Tooth> apply(TraceSession& session, const std::vector<Edit>& edits) {
    std::vector<CanalEdit> of_canals;
    std::optional<Vec3> reference_P;
    for (const Edit& edit : edits) {
        const Result<void> taken = std::visit(
            Overloaded{[&](const MoveReference& e) -> Result<void> {
                           reference_P = e.to_P;
                           return {};
                       },
                       [&](const DrawOutline& e) -> Result<void> {
                           const Result<DrawSection> section = section_of(session, of_canals, e);
                           if (!section) return tl::unexpected(section.error());
                           of_canals.push_back(*section);
                           return {};
                       },
                       [&](const auto& e) -> Result<void> {
                           of_canals.push_back(e);
                           return {};
                       }},
            edit);
        if (!taken) return tl::unexpected(taken.error());
    }
    Result<Tooth> tooth = session.edited(of_canals);
    if (!tooth) return tooth;
    return reference_P ? with_reference(std::move(*tooth), *reference_P) : std::move(*tooth);
}

}  // namespace anfract::server
