#include "anfract/record/tray_book.h"

#include "anfract/record/instant.h"
#include "rows.h"

namespace anfract::record {
using soci::into;
using soci::use;

Result<std::optional<std::string>> TrayBook::newest() const {
    return store_.read([&](soci::session& sql) -> Result<std::optional<std::string>> {
        std::string content;
        sql << "SELECT content FROM trays ORDER BY version DESC LIMIT 1", into(content);
        return sql.got_data() ? std::optional(content) : std::nullopt;
    });
}

Result<void> TrayBook::add(const std::string& content, const std::string& author) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        long long version = 0;
        sql << "SELECT COALESCE(MAX(version), 0) + 1 FROM trays", into(version);
        const std::string now = now_text();
        sql << "INSERT INTO trays (version, made, author, content)"
               " VALUES (:version, :made, :author, :content)",
            use(version), use(now), use(author), use(content);
        return {};
    });
}

}  // namespace anfract::record
