using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class ToldOfWithdrawals : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "WordsChangedAt",
                table: "Shops",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "TellAskedAt",
                table: "Releases",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "TellPlace",
                table: "Releases",
                type: "text",
                nullable: true,
                collation: "C");

            migrationBuilder.AddColumn<long>(
                name: "WordsChangedAt",
                table: "Libraries",
                type: "bigint",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "WithdrawalNotices",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    PersonId = table.Column<long>(type: "bigint", nullable: false),
                    ToldAt = table.Column<long>(type: "bigint", nullable: false),
                    OfferedReleaseId = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_WithdrawalNotices", x => new { x.ReleaseId, x.PersonId });
                    table.ForeignKey(
                        name: "FK_WithdrawalNotices_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_WithdrawalNotices_Releases_OfferedReleaseId",
                        column: x => x.OfferedReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.SetNull);
                    table.ForeignKey(
                        name: "FK_WithdrawalNotices_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_WithdrawalNotices_OfferedReleaseId_PersonId",
                table: "WithdrawalNotices",
                columns: new[] { "OfferedReleaseId", "PersonId" });

            migrationBuilder.CreateIndex(
                name: "IX_WithdrawalNotices_PersonId",
                table: "WithdrawalNotices",
                column: "PersonId");

            // Whoever fetched a withdrawn version was told in the transaction of its withdrawal; the newest version since counts as offered.
            migrationBuilder.Sql("""
                INSERT INTO "WithdrawalNotices" ("ReleaseId", "PersonId", "ToldAt", "OfferedReleaseId")
                SELECT DISTINCT d."ReleaseId", d."PersonId", r."WithdrawnAt",
                    (SELECT MAX(o."Id") FROM "Releases" o WHERE o."LibraryId" = r."LibraryId" AND o."State" = 'Published' AND o."Id" > r."Id")
                FROM "Downloads" d JOIN "Releases" r ON r."Id" = d."ReleaseId" JOIN "AspNetUsers" p ON p."Id" = d."PersonId"
                WHERE r."State" = 'Withdrawn' AND r."WithdrawnAt" IS NOT NULL AND d."StartedAt" IS NOT NULL AND NOT p."IsMaker"
                """);
            // What a version mended that was withdrawn before anyone was told is open again.
            migrationBuilder.Sql("""
                UPDATE "FaultReports" SET "SettledAt" = NULL, "MendedInReleaseId" = NULL
                WHERE "ToldAt" IS NULL AND "MendedInReleaseId" IN (SELECT "Id" FROM "Releases" WHERE "State" = 'Withdrawn')
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "WithdrawalNotices");

            migrationBuilder.DropColumn(
                name: "WordsChangedAt",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "TellAskedAt",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "TellPlace",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "WordsChangedAt",
                table: "Libraries");
        }
    }
}
