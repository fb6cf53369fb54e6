// Any bytes as a JSON document of any format, a FHIR bundle, the corrections of a traced tooth, the
// body of a request, what the record keeps of a scan, a count of the stock as CSV, and the texts of
// anatomy codes and tooth numbers. What was read must be readable again once it is written.
#include <cstdint>
#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "anfract/base/json_document.h"
#include "anfract/base/json_text.h"
#include "anfract/exchange/fhir.h"
#include "anfract/plan/plan_file.h"
#include "anfract/record/pseudonym.h"
#include "anfract/record/stock.h"
#include "anfract/report/letter.h"
#include "anfract/tooth/canal_system.h"
#include "anfract/tooth/measures.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tooth/tooth_number.h"
#include "anfract/tray/tray_file.h"
#include "edit_list.h"
#include "movements_json.h"
#include "rehearsal_json.h"
#include "scan_record.h"
#include "trace_request_json.h"

namespace {

using namespace anfract;
using nlohmann::json;

const std::string where = "input";
const record::Pseudonym who{"P-0000000000000000", 400};

bool holds(const json& document, const char* format) {
    return parse_document(document.dump(), format, where).has_value();
}

void must(bool good) {
    if (!good) std::abort();
}

bool read_short_text(std::string_view text) {
    const bool course = parse_course(text).has_value(), code = parse_canal_code(text).has_value();
    const bool fdi = tooth_number_from_fdi(text).has_value();
    return tooth_number_from_universal(text).has_value() || course || code || fdi;
}

bool read_as(const std::string& format, const json& document) {
    if (format == "anfract.tooth") {
        const auto tooth = tooth_from_json(document, where);
        if (!tooth) return false;
        (void)measure(*tooth);
        must(tooth_from_json(tooth_to_json(*tooth), where).has_value());
    } else if (format == "anfract.tray") {
        const auto tray = tray_from_json(document, where);
        if (!tray) return false;
        must(tray_from_json(tray_to_json(*tray), where).has_value());
    } else if (format == "anfract.plan") {
        const auto plan = plan_from_json(document, where);
        if (!plan) return false;
        must(plan_from_json(plan_to_json(*plan), where).has_value());
    } else if (format == "anfract.letter") {
        return letter_from_json(document, where).has_value();
    } else if (format == "anfract.case") {
        must(holds(record::pseudonymised_notes(document, who), "anfract.case"));
    } else if (format == "anfract.log") {
        const auto log = record::pseudonymised_log(document.at("entries"), who);
        must(holds(log, "anfract.log"));
    }
    return true;
}

bool read_corrections(const json& document) {
    const auto list = server::edit_list_of(document);
    if (list) {
        const auto again = server::edit_list_of(server::to_json(*list));
        must(again && again->edits.size() == list->edits.size());
    }
    return server::trace_request_of(document.at("request")) && list;
}

bool read_trace_request(const json& body) {
    const auto request = server::trace_request_of(body);
    if (!request) return false;
    must(server::trace_request_of(server::to_json(*request)).has_value());
    return true;
}

bool read_scan_description(const std::string& text) {
    const auto scan = server::scan_record_of({"0123456789abcdef", "", text, "", ""}, "folder");
    if (!scan) return false;
    must(server::scan_record_of({scan->id, "", server::content_of(*scan), "", ""}, "folder")
             .has_value());
    return true;
}

/// A body by a key that only it has.
bool read_body(const json& body, const std::string& text) {
    if (body.contains("request")) return read_corrections(body);
    if (body.contains("inside_mm")) return read_trace_request(body);
    if (body.contains("movements")) return server::movements_of(body).has_value();
    if (body.contains("access")) return server::rehearsal_of(body).has_value();
    return body.contains("geometry") && read_scan_description(text);
}

bool read_count(const std::string& text) {
    const auto lots = record::stock_from_csv(text);
    if (!lots) return false;
    std::vector<record::StockLevel> levels;
    for (const record::CountedLot& lot : *lots) {
        record::StockLevel level;
        level.item.id = lot.item;
        level.lots.push_back({lot.lot, "", lot.pieces});  // dates are looked at by the stock
        levels.push_back(std::move(level));
    }
    const auto again = record::stock_from_csv(record::stock_to_csv(levels));
    must(again && again->size() == lots->size());
    return true;
}

}  // namespace

/// True if it is read as something.
bool is_taken(std::string_view text) {
    if (text.starts_with("item,")) return read_count(std::string(text));
    bool taken = text.size() < 64 && read_short_text(text);
    // The schema of a format costs time to load: the input names its own.
    for (const std::string& format : schema_formats()) {
        if (text.find('"' + format + '"') == std::string_view::npos) continue;
        const auto document = parse_document(text, format, where);
        if (document && read_as(format, *document)) taken = true;
    }
    if (taken || !text.starts_with("{")) return taken;
    const auto document = parse_json(text, where);
    if (!document || !document->is_object()) return false;
    if (document->contains("resourceType"))
        return plan_of_fhir_bundle(*document, where).has_value();
    return read_body(*document, std::string(text));
}

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    (void)is_taken({reinterpret_cast<const char*>(data), size});
    return 0;
}
