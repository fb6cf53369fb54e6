#include "anfract/record/stock.h"

#include <algorithm>

#include "anfract/record/instant.h"
#include "rows.h"
#include "stock_count.h"

namespace anfract::record {
using nlohmann::json;
using soci::into;
using soci::use;

namespace {

std::vector<StockItem> fetch_items(soci::session& sql) {
    std::vector<StockItem> items;
    StockItem row;
    std::string device;
    long long minimum = 0;
    soci::statement query = (sql.prepare << "SELECT id, device, minimum FROM stock_items",
                             into(row.id), into(device), into(minimum));
    query.execute();
    while (query.fetch()) {
        row.device = kept_json(device);
        row.minimum = minimum;
        items.push_back(row);
    }
    // Byte by byte, whatever the database thinks of letters.
    std::sort(items.begin(), items.end(),
              [](const StockItem& a, const StockItem& b) { return a.id < b.id; });
    return items;
}

using Movements = std::map<std::string, std::vector<StockMovement>>;

Movements fetch_movements(soci::session& sql) {
    Movements all;
    StockMovement row;
    long long count = 0;
    soci::statement query =
        (sql.prepare << "SELECT item, kind, lot, expires, pieces, note, made, author"
                        " FROM stock_movements ORDER BY sequence",
         into(row.item), into(row.kind), into(row.lot), into(row.expires), into(count),
         into(row.note), into(row.made), into(row.author));
    query.execute();
    while (query.fetch()) {
        row.count = count;
        all[row.item].push_back(row);
    }
    return all;
}

/// A device counts once for each case and day, however often it went in.
std::map<std::string, StockUse> fetch_uses(soci::session& sql) {
    std::map<std::string, StockUse> uses;
    std::string device;
    long long times = 0, broken = 0, pieces = 0;
    soci::statement query =
        (sql.prepare << "SELECT device, SUM(used), SUM(broken),"
                        " SUM(CASE WHEN broken > used THEN broken ELSE used END) FROM"
                        " (SELECT device, case_id, visit, MAX(used) AS used, SUM(broken) AS broken"
                        " FROM stock_uses GROUP BY device, case_id, visit) AS visits"
                        " GROUP BY device",
         into(device), into(times), into(broken), into(pieces));
    query.execute();
    while (query.fetch()) uses[device] = {times, broken, pieces};
    return uses;
}

Result<void> check_movement(const StockMovement& movement, const StockLevel& level) {
    const auto wrong = [&](const std::string& what, const std::string& remedy) {
        return fail(ErrorCode::BadInput, what, "item " + movement.item, remedy);
    };
    if (movement.count < 1 || movement.count > 1'000'000)
        return wrong("the count is not from 1 to 1000000", "count the pieces");
    if (!movement.expires.empty() && !parse_instant(movement.expires + "T00:00:00Z"))
        return wrong("'" + movement.expires + "' is no date", "write it as 2026-01-31");
    if (movement.kind == "received") return {};
    if (movement.kind == "sterilised") {
        if (level.item.max_uses() == 1)
            return wrong("is of a single use and must not be used again",
                         "discard it after its use");
        if (movement.count > level.to_sterilise)
            return wrong("only " + std::to_string(level.to_sterilise) +
                             " pieces were used since their last cycle",
                         "check the count, or log the uses first");
        return {};
    }
    if (movement.kind != "discarded")
        return wrong("'" + movement.kind + "' is not received, sterilised or discarded",
                     "give one of them");
    const auto lot = std::find_if(level.lots.begin(), level.lots.end(),
                                  [&](const StockLot& one) { return one.lot == movement.lot; });
    if (lot == level.lots.end() || lot->pieces < movement.count)
        return wrong("lot '" + movement.lot + "' has fewer pieces left", "check the lot");
    return {};
}

void insert(soci::session& sql, long long sequence, const StockMovement& movement) {
    const long long count = movement.count;
    sql << "INSERT INTO stock_movements (sequence, item, kind, lot, expires, pieces, note, made,"
           " author) VALUES (:sequence, :item, :kind, :lot, :expires, :pieces, :note, :made,"
           " :author)",
        use(sequence), use(movement.item), use(movement.kind), use(movement.lot),
        use(movement.expires), use(count), use(movement.note), use(movement.made),
        use(movement.author);
}

}  // namespace

Result<void> Stock::count(const std::vector<CountedLot>& lots, const std::string& author) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        std::map<std::string, StockItem> items;
        for (StockItem& item : fetch_items(sql)) items[item.id] = item;
        const Movements before = fetch_movements(sql);
        const auto uses = fetch_uses(sql);
        std::map<std::string, std::vector<CountedLot>> counted;
        for (const CountedLot& lot : lots) {
            if (!items.contains(lot.item))
                return fail(ErrorCode::BadInput, "'" + lot.item + "' is not in stock",
                            lot.place("item"), "add the item first");
            counted[lot.item].push_back(lot);
            const long long minimum = lot.minimum.value_or(items[lot.item].minimum);
            sql << "UPDATE stock_items SET minimum = :minimum WHERE id = :id", use(minimum),
                use(lot.item);
        }
        long long sequence = 0;
        sql << "SELECT COALESCE(MAX(sequence), 0) FROM stock_movements", into(sequence);
        for (auto& [id, wanted] : counted) {
            const auto own = before.find(id);
            const auto use_of = uses.find(id);
            const auto movements = movements_to(
                wanted, items[id], own == before.end() ? std::vector<StockMovement>() : own->second,
                use_of == uses.end() ? StockUse{} : use_of->second);
            if (!movements) return tl::unexpected(movements.error());
            for (StockMovement movement : *movements) {
                movement.made = now_text();
                movement.author = author;
                insert(sql, ++sequence, movement);
            }
        }
        return {};
    });
}

Result<void> Stock::put_item(const StockItem& item) const {
    if (item.id.empty() || item.id.size() > 120 || !item.device.is_object() ||
        item.device.value("id", "") != item.id)
        return fail(ErrorCode::BadInput, "is not the id of its device", item.id,
                    "give a device of the anfract.tray format");
    if (item.minimum < 0)
        return fail(ErrorCode::BadInput, "the minimum is negative", item.id, "give 0 or more");
    return store_.write([&](soci::session& sql) -> Result<void> {
        const std::string device = item.device.dump();
        const long long minimum = item.minimum;
        soci::statement change =
            (sql.prepare << "UPDATE stock_items SET device = :device, minimum = :minimum"
                            " WHERE id = :id",
             use(device), use(minimum), use(item.id));
        change.execute(true);
        if (change.get_affected_rows() == 0)
            sql << "INSERT INTO stock_items (id, device, minimum) VALUES (:id, :device, :minimum)",
                use(item.id), use(device), use(minimum);
        return {};
    });
}

Result<void> Stock::move(const std::vector<StockMovement>& movements,
                         const std::string& author) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        std::map<std::string, StockItem> items;
        for (StockItem& item : fetch_items(sql)) items[item.id] = item;
        Movements before = fetch_movements(sql);
        const auto uses = fetch_uses(sql);
        long long sequence = 0;
        sql << "SELECT COALESCE(MAX(sequence), 0) FROM stock_movements", into(sequence);
        for (StockMovement movement : movements) {
            const auto item = items.find(movement.item);
            if (item == items.end())
                return fail(ErrorCode::BadInput, "is not in stock", "item " + movement.item,
                            "add the item first");
            const auto use_of = uses.find(movement.item);
            std::vector<StockMovement>& own = before[movement.item];
            const StockLevel level =
                level_of(item->second, own, use_of == uses.end() ? StockUse{} : use_of->second, "");
            if (auto right = check_movement(movement, level); !right) return right;
            movement.made = now_text();
            movement.author = author;
            insert(sql, ++sequence, movement);
            own.push_back(movement);
        }
        return {};
    });
}

Result<std::vector<StockLevel>> Stock::levels(const std::string& today) const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<StockLevel>> {
        const Movements moved = fetch_movements(sql);
        const auto uses = fetch_uses(sql);
        std::vector<StockLevel> levels;
        for (const StockItem& item : fetch_items(sql)) {
            const auto own = moved.find(item.id);
            const auto use_of = uses.find(item.id);
            levels.push_back(
                level_of(item, own == moved.end() ? std::vector<StockMovement>() : own->second,
                         use_of == uses.end() ? StockUse{} : use_of->second, today));
        }
        return levels;
    });
}

Result<std::vector<StockMovement>> Stock::movements(const std::string& item) const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<StockMovement>> {
        return fetch_movements(sql)[item];
    });
}

Result<std::vector<ReorderLine>> Stock::reorder(const std::map<std::string, std::int64_t>& coming,
                                                const std::string& today) const {
    const auto all = levels(today);
    if (!all) return tl::unexpected(all.error());
    std::vector<ReorderLine> lines;
    for (const StockLevel& level : *all) {
        const auto needed = coming.find(level.item.id);
        ReorderLine line{level.item, level.pieces, level.item.minimum,
                         needed == coming.end() ? 0 : needed->second, 0};
        line.order = line.minimum + line.coming - line.have;
        if (line.order > 0) lines.push_back(std::move(line));
    }
    return lines;
}

Result<json> Stock::tray(const std::string& today) const {
    const auto all = levels(today);
    if (!all) return tl::unexpected(all.error());
    if (all->empty()) return json();
    json devices = json::array();
    for (const StockLevel& level : *all) {
        json device = level.item.device;
        device["stock"] = level.ready;
        devices.push_back(std::move(device));
    }
    return json{{"format", "anfract.tray"}, {"version", 1}, {"devices", devices}};
}

}  // namespace anfract::record
