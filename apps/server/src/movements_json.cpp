#include "movements_json.h"

#include <nlohmann/json.hpp>

namespace anfract::server {
using nlohmann::json;

Result<std::vector<record::StockMovement>> movements_of(const json& body) {
    const json list = body.value("movements", json());
    if (!list.is_array() || list.empty() || list.size() > 10'000) {
        return fail(ErrorCode::BadInput, "is not a list of movements", "movements",
                    "give up to 10000");
    }
    std::vector<record::StockMovement> movements;
    for (const json& given : list) {
        record::StockMovement movement;
        try {
            movement.item = given.at("item");
            movement.kind = given.at("kind");
            movement.count =
                given.at("count").is_number_integer() ? given.at("count").get<std::int64_t>() : 0;
            movement.lot = given.value("lot", "");
            movement.expires = given.value("expires", "");
            movement.note = given.value("note", "");
        } catch (const json::exception&) {
            return fail(ErrorCode::BadInput,
                        "is not {item, kind, count, lot?, expires?, note?} with text and a count",
                        "movements[" + std::to_string(movements.size()) + "]", "correct it");
        }
        movements.push_back(std::move(movement));
    }
    return movements;
}

}  // namespace anfract::server
