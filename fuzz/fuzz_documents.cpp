// Any bytes as a JSON document of any format, and as the texts of anatomy codes and tooth numbers.
#include <cstdint>
#include <nlohmann/json.hpp>
#include <string_view>

#include "anfract/base/json_document.h"
#include "anfract/plan/plan_file.h"
#include "anfract/tooth/canal_system.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tooth/tooth_number.h"
#include "anfract/tray/tray_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text(reinterpret_cast<const char*>(data), size);
    if (size < 64) {
        (void)anfract::parse_course(text);
        (void)anfract::parse_canal_code(text);
        (void)anfract::tooth_number_from_fdi(text);
        (void)anfract::tooth_number_from_universal(text);
    }
    // The schema of a format costs time to load: the input names its own.
    for (const std::string& format : anfract::schema_formats()) {
        if (text.find('"' + format + '"') == std::string_view::npos) continue;
        const auto document = anfract::parse_document(text, format, "input");
        if (!document) continue;
        if (format == "anfract.tooth") (void)anfract::tooth_from_json(*document, "input");
        if (format == "anfract.tray") (void)anfract::tray_from_json(*document, "input");
        if (format == "anfract.plan") (void)anfract::plan_from_json(*document, "input");
    }
    return 0;
}
