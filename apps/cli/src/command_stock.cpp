#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/file.h"
#include "anfract/record/coming_plans.h"
#include "anfract/record/instant.h"
#include "anfract/tray/tray_file.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;

struct Options {
    RecordOptions record;
    fs::path file, tray;
    std::vector<std::string> devices;
    record::StockMovement movement;
    std::int64_t minimum = 0;
};

std::string today() { return record::now_text().substr(0, 10); }

Result<void> list(const Options&, const record::Record& record) {
    const auto levels = record.stock().levels(today());
    if (!levels) return tl::unexpected(levels.error());
    std::printf("pieces  ready  expired  to sterilise  uses left  minimum  item\n");
    for (const record::StockLevel& level : *levels) {
        std::printf(
            "%6lld  %5lld  %7lld  %12lld  %9lld  %7lld  %s\n", static_cast<long long>(level.pieces),
            static_cast<long long>(level.ready), static_cast<long long>(level.expired),
            static_cast<long long>(level.to_sterilise), static_cast<long long>(level.uses_left),
            static_cast<long long>(level.item.minimum), level.item.id.c_str());
    }
    return {};
}

/// The devices of a tray become items; one that is there already gets the new description.
Result<void> add(const Options& options, const record::Record& record) {
    const auto tray = options.tray.empty() ? generic_tray() : read_tray(options.tray);
    if (!tray) return tl::unexpected(tray.error());
    std::set<std::string> wanted(options.devices.begin(), options.devices.end());
    const bool all = wanted.empty();
    const nlohmann::json document = tray_to_json(*tray);
    for (const nlohmann::json& device : document.at("devices")) {
        const std::string id = device.at("id");
        if (!all && wanted.erase(id) == 0) continue;
        if (auto put = record.stock().put_item({id, device, options.minimum}); !put) return put;
    }
    if (wanted.empty()) return {};
    return fail(ErrorCode::NotFound, "is not in the tray", *wanted.begin(),
                "look into the tray for the device's id");
}

Result<void> move(const Options& options, const record::Record& record) {
    auto moved = record.stock().move({options.movement}, "");
    const std::string& expires = options.movement.expires;
    if (moved && !expires.empty() && expires < today())
        std::fprintf(stderr, "This lot expired on %s: its pieces are counted, and never ready.\n",
                     expires.c_str());
    return moved;
}

Result<void> import(const Options& options, const record::Record& record) {
    const auto text = read_file(options.file, std::size_t{4} << 20);
    if (!text) return tl::unexpected(text.error());
    auto lots = record::stock_from_csv(*text);
    if (lots) return record.stock().count(*lots, "");
    lots.error().where = options.file.string() + ", " + lots.error().where;
    return tl::unexpected(lots.error());
}

Result<void> export_to(const Options& options, const record::Record& record) {
    const auto levels = record.stock().levels(today());
    if (!levels) return tl::unexpected(levels.error());
    const std::string text = record::stock_to_csv(*levels);
    if (!options.file.empty()) return write_file_atomically(options.file, text);
    std::fwrite(text.data(), 1, text.size(), stdout);
    return {};
}

Result<void> reorder(const Options&, const record::Record& record) {
    const auto coming = record::pieces_of_coming_plans(record);
    if (!coming) return tl::unexpected(coming.error());
    const auto lines = record.stock().reorder(*coming, today());
    if (!lines) return tl::unexpected(lines.error());
    for (const record::ReorderLine& line : *lines) {
        std::printf("order %lld  (have %lld, minimum %lld, plans need %lld)  %s\n",
                    static_cast<long long>(line.order), static_cast<long long>(line.have),
                    static_cast<long long>(line.minimum), static_cast<long long>(line.coming),
                    line.item.id.c_str());
    }
    return {};
}

}  // namespace

void add_stock_command(CLI::App& app, Action& action) {
    CLI::App* command = app.add_subcommand("stock", "Items, lots, cycles, and what to order");
    command->require_subcommand(1);
    const auto add_one = [&](const char* name, const char* text,
                             Result<void> (*run)(const Options&, const record::Record&)) {
        return add_record_subcommand<Options>(*command, name, text, in_record(run), action);
    };
    add_one("list", "Where each item stands", list);
    add_one("reorder", "What to order for the minimum and the coming plans", reorder);
    {
        const auto [one, options] = add_one("add", "Make devices of a tray items", add);
        one->add_option("--tray", options->tray, "anfract.tray file (default: the generic tray)");
        one->add_option("--device", options->devices, "id of one of its devices (default: all)");
        one->add_option("--minimum", options->minimum, "pieces below which to order");
    }
    for (const auto& [name, kind, text] :
         {std::tuple("receive", "received", "Pieces that came"),
          std::tuple("sterilise", "sterilised", "Pieces that went through a cycle"),
          std::tuple("discard", "discarded", "Pieces that were thrown away")}) {
        const auto [one, options] = add_one(name, text, move);
        options->movement.kind = kind;
        one->add_option("ITEM", options->movement.item, "id of the item")->required();
        one->add_option("COUNT", options->movement.count, "pieces")->required();
        one->add_option("--note", options->movement.note, "number of the cycle, or the reason");
        if (kind == std::string("sterilised")) continue;
        one->add_option("--lot", options->movement.lot, "number of the lot");
        if (kind == std::string("received"))
            one->add_option("--expires", options->movement.expires, "2026-01-31");
    }
    {
        const auto [one, options] =
            add_one("import", "Bring lots to what was counted, from CSV", import);
        one->add_option("FILE", options->file, "columns item, lot, expires, pieces, minimum")
            ->required();
    }
    {
        const auto [one, options] = add_one("export", "Items and lots as CSV", export_to);
        one->add_option("--out", options->file, "file (default: standard output)");
    }
}

}  // namespace anfract::cli
