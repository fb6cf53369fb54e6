#include <nlohmann/json.hpp>
#include <set>

#include "anfract/http/problem.h"
#include "anfract/record/coming_plans.h"
#include "anfract/record/instant.h"
#include "movements_json.h"
#include "request_json.h"
#include "route_adder.h"

namespace anfract::server {
using nlohmann::json;

namespace {

std::string today() { return record::now_text().substr(0, 10); }

json to_json(const record::StockLevel& level) {
    json lots = json::array();
    for (const record::StockLot& lot : level.lots) {
        lots.push_back({{"lot", lot.lot},
                        {"expires", lot.expires},
                        {"pieces", lot.pieces},
                        {"expired", lot.expired}});
    }
    return {{"id", level.item.id},           {"device", level.item.device},
            {"minimum", level.item.minimum}, {"max_uses", level.item.max_uses()},
            {"pieces", level.pieces},        {"ready", level.ready},
            {"expired", level.expired},      {"to_sterilise", level.to_sterilise},
            {"uses_left", level.uses_left},  {"times_used", level.times_used},
            {"overdrawn", level.overdrawn},  {"lots", lots}};
}

http::Response get_stock(Workspace& workspace, const http::Request&) {
    const auto levels = workspace.record->stock().levels(today());
    if (!levels) return http::problem(levels.error());
    const auto devices = workspace.tray->devices_to_choose_from();
    if (!devices) return http::problem(devices.error());
    json items = json::array(), addable = json::array();
    std::set<std::string> ids;
    for (const record::StockLevel& level : *levels) {
        items.push_back(to_json(level));
        ids.insert(level.item.id);
    }
    for (json device : *devices) {
        device.erase("stock");
        if (!ids.contains(device.at("id"))) addable.push_back(std::move(device));
    }
    return json_response(200, {{"items", items}, {"addable", addable}});
}

http::Response put_item(Workspace& workspace, const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const json device = body->value("device", json());
    const auto minimum = body->find("minimum");
    if (minimum != body->end() && !minimum->is_number_integer()) {
        return http::problem(
            {ErrorCode::BadInput, "is not a whole number", "minimum", "give 0 or more"});
    }
    // What could not be in a tray must not be in the stock.
    const json tray{{"format", "anfract.tray"}, {"version", 1}, {"devices", {device}}};
    if (const auto readable = TrayShelf::check(tray.dump(), "device"); !readable)
        return http::problem(readable.error());
    const record::StockItem item{request.parameters.at("id"), device,
                                 minimum == body->end() ? 0 : minimum->get<std::int64_t>()};
    const auto stored = workspace.record->stock().put_item(item);
    return stored ? get_stock(workspace, request) : http::problem(stored.error());
}

http::Response post_movements(Workspace& workspace, const http::Request& request) {
    const auto movements = object_of(request).and_then(movements_of);
    if (!movements) return http::problem(movements.error());
    const auto moved = workspace.record->stock().move(*movements, request.user);
    return moved ? get_stock(workspace, request) : http::problem(moved.error());
}

http::Response get_movements(Workspace& workspace, const http::Request& request) {
    const auto movements = workspace.record->stock().movements(request.parameters.at("id"));
    if (!movements) return http::problem(movements.error());
    json list = json::array();
    for (const record::StockMovement& one : *movements) {
        list.push_back({{"item", one.item},
                        {"kind", one.kind},
                        {"lot", one.lot},
                        {"expires", one.expires},
                        {"count", one.count},
                        {"note", one.note},
                        {"made", one.made},
                        {"author", one.author}});
    }
    return json_response(200, {{"movements", list}});
}

http::Response get_reorder(Workspace& workspace, const http::Request&) {
    const auto coming = record::pieces_of_coming_plans(*workspace.record);
    if (!coming) return http::problem(coming.error());
    const auto lines = workspace.record->stock().reorder(*coming, today());
    if (!lines) return http::problem(lines.error());
    json list = json::array();
    for (const record::ReorderLine& line : *lines) {
        list.push_back({{"id", line.item.id},
                        {"have", line.have},
                        {"minimum", line.minimum},
                        {"coming", line.coming},
                        {"order", line.order}});
    }
    return json_response(200, {{"lines", list}});
}

http::Response get_csv(Workspace& workspace, const http::Request&) {
    const auto levels = workspace.record->stock().levels(today());
    if (!levels) return http::problem(levels.error());
    http::Response response =
        http::respond(200, "text/csv; charset=utf-8", record::stock_to_csv(*levels));
    response.set("Content-Disposition", "attachment; filename=\"stock.csv\"");
    return response;
}

/// A count of the lots, as stock.csv gives it.
http::Response post_csv(Workspace& workspace, const http::Request& request) {
    const auto lots = record::stock_from_csv(request.body);
    if (!lots) return http::problem(lots.error());
    const auto counted = workspace.record->stock().count(*lots, request.user);
    return counted ? get_stock(workspace, request) : http::problem(counted.error());
}

}  // namespace

void add_stock_routes(http::Router& router, Workspace& workspace) {
    const RouteAdder add(router, workspace);
    add("GET", "/api/stock", get_stock);
    add("PUT", "/api/stock/items/{id}", put_item, http::BodyRule::json());
    add("GET", "/api/stock/items/{id}/movements", get_movements);
    add("POST", "/api/stock/movements", post_movements, http::BodyRule::json());
    add("GET", "/api/stock/reorder", get_reorder);
    add("GET", "/api/stock/stock.csv", get_csv);
    add("POST", "/api/stock/stock.csv", post_csv,
        {http::BodyRule::Kind::Memory, "text/csv", std::uint64_t{4} << 20, {}});
}

}  // namespace anfract::server
