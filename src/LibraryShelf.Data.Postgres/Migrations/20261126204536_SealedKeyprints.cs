using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class SealedKeyprints : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "SealedKeyprints",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Print = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Measures = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_SealedKeyprints", x => x.ReleaseId);
                    table.ForeignKey(
                        name: "FK_SealedKeyprints_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "SealedKeyprints");
        }
    }
}
