using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class PossibleUpdates : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Downloads_ReleaseId",
                table: "Downloads");

            migrationBuilder.AddColumn<long>(
                name: "FromReleaseId",
                table: "Downloads",
                type: "bigint",
                nullable: true);

            // Downloads of updates made before: the version they are from stood on the archive alone.
            migrationBuilder.Sql("""UPDATE "Downloads" SET "FromReleaseId" = (SELECT a."FromReleaseId" FROM "Archives" a WHERE a."Id" = "Downloads"."ArchiveId")""");

            migrationBuilder.CreateTable(
                name: "PossibleUpdates",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    FromReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Bytes = table.Column<long>(type: "bigint", nullable: false),
                    Obstacle = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PossibleUpdates", x => new { x.ReleaseId, x.FromReleaseId });
                    table.ForeignKey(
                        name: "FK_PossibleUpdates_Releases_FromReleaseId",
                        column: x => x.FromReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_PossibleUpdates_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_ReleaseId_FromReleaseId",
                table: "Downloads",
                columns: new[] { "ReleaseId", "FromReleaseId" });

            migrationBuilder.CreateIndex(
                name: "IX_PossibleUpdates_FromReleaseId",
                table: "PossibleUpdates",
                column: "FromReleaseId");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "PossibleUpdates");

            migrationBuilder.DropIndex(
                name: "IX_Downloads_ReleaseId_FromReleaseId",
                table: "Downloads");

            migrationBuilder.DropColumn(
                name: "FromReleaseId",
                table: "Downloads");

            migrationBuilder.CreateIndex(
                name: "IX_Downloads_ReleaseId",
                table: "Downloads",
                column: "ReleaseId");
        }
    }
}
